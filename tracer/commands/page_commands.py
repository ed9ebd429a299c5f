"""The command that serves the jobs of a folder to a browser."""

from __future__ import annotations

import click


@click.command("page")
@click.argument("folder", default=".")
@click.option("--lan", is_flag=True, help="For phones and tablets in the local network too; prints a code to scan.")
@click.option("--port", type=click.IntRange(1, 65535), help="Port; by default the first free one from 8470.")
def page_command(folder: str, lan: bool, port: int | None) -> int:
    """The jobs of FOLDER in a browser, for a phone or tablet at the vehicle.

    Nothing leaves the local network, and only who has the link that is printed can open it.

    \b
    Examples:
      tracer page
      tracer page jobs --lan
    """
    from pathlib import Path

    from tracer.page.server import serve

    return serve(Path(folder), lan, port, click.echo)
