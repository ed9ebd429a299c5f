"""The command that serves the jobs of a folder to a browser."""

from __future__ import annotations

import click
from msgspec.structs import asdict

from tracer.commands.output import json_option


@click.command("page")
@click.argument("folder", default=".")
@click.option("--lan", is_flag=True, help="For phones and tablets in the local network too; prints a code to scan.")
@click.option("--port", type=click.IntRange(1, 65535), help="Port; by default the first free one from 8470.")
@json_option
def page_command(folder: str, lan: bool, port: int | None, as_json: bool) -> int:
    """The jobs of FOLDER in a browser, for a phone or tablet at the vehicle.

    Nothing leaves the local network, and only who has the link that is printed can open it.

    \b
    Examples:
      tracer page
      tracer page jobs --lan
    """
    from tracer.page.folder import Folder
    from tracer.page.server import folder_of, serve
    from tracer.present.screen import say, say_json

    if as_json:  # a page has no JSON; the jobs it would show have
        say_json([asdict(j) for j in Folder(folder_of(folder)).listed()])
        return 0
    return serve(folder_of(folder), lan, port, say)
