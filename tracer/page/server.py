"""Starting and stopping: this machine only, or the workshop's own network with a link and a code to scan."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable
from pathlib import Path
from threading import Thread
from typing import Any, Final

from tracer.errors import TracerError

THREADS: Final = 6
MOST_UPLOAD: Final = 26_000_000
_PORTS: Final = range(8470, 8480)


def own_address() -> str:
    """This machine's address in the local network. No packet is sent to find it.

    Raises:
        TracerError: There is no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737)
            return str(probe.getsockname()[0])
        except OSError as error:
            raise TracerError("this machine is in no network",
                              "join the workshop's network, or leave out --lan") from error


def listening(host: str, port: int | None) -> socket.socket:
    """A socket at the port asked for, or at the first free one of ours.

    Raises:
        TracerError: Taken, or not allowed.
    """
    for tried in (port,) if port is not None else _PORTS:
        sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            sock.bind((host, tried))
        except OSError as error:
            sock.close()
            if port is not None:
                raise TracerError(f"port {port} cannot be used: {(error.strerror or str(error)).lower()}",
                                  "another page may be running; leave out --port") from error
            continue
        return sock
    raise TracerError(f"ports {_PORTS[0]} to {_PORTS[-1]} are all taken", "give one with --port")


def folder_of(path: str) -> Path:
    """The folder of that path.

    Raises:
        TracerError: There is none.
    """
    if not Path(path).is_dir():
        raise TracerError(f"there is no folder {path}", "give the folder that holds the jobs")
    return Path(path)


def code_lines(link: str) -> str:
    """The link as a code to scan, in half blocks with a margin; right way round where a terminal writes light on
    dark, and phones read either."""
    import segno

    rows = [list(row) for row in segno.make(link, error="m", micro=False).matrix_iter(border=2)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    return "\n".join(
        "".join("█▀▄ "[2 * bool(a) + bool(b)] for a, b in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def serve(folder: Path, lan: bool, port: int | None, say: Callable[[str], None]) -> int:
    """Serve the jobs of a folder until somebody stops it.

    Args:
        folder: Holds the jobs and the harness files.
        lan: For other devices in the local network too.
        port: None: the first free one.
        say: Shows a line or several.

    Raises:
        TracerError: No network, or the port is taken.
    """
    import waitress

    from tracer.page.access import new_key
    from tracer.page.app import make_app

    address = own_address() if lan else "127.0.0.1"
    sock = listening("0.0.0.0" if lan else "127.0.0.1", port)
    taken = sock.getsockname()[1]
    key, hosts = new_key(), {f"{h}:{taken}" for h in (address, "127.0.0.1", "localhost")}
    app = make_app(folder, key, hosts, ahead=True)
    server = waitress.create_server(app, sockets=[sock], threads=THREADS, max_request_body_size=MOST_UPLOAD,
                                    ident=None, clear_untrusted_proxy_headers=True)
    link = f"http://{address}:{taken}/?key={key}"
    say(f"The jobs of {folder.resolve()} are at\n\n  {link}\n")
    if lan:
        say(code_lines(link))
    say("Only who has this link can open it. Stop with Ctrl-C; everything recorded is saved.")
    return _run(server, say)


def _run(server: Any, say: Callable[[str], None]) -> int:
    """Serve in a thread beside; the main one waits for the signal to stop, so that a write under way is finished."""
    stop, wake = socket.socketpair()
    before = {s: signal.signal(s, lambda *_: wake.send(b"x")) for s in (signal.SIGINT, signal.SIGTERM)}
    runner = Thread(target=server.run, name="page", daemon=True)
    runner.start()
    try:
        while not stop.recv(1):
            pass
    finally:
        for s, handler in before.items():
            signal.signal(s, handler)
        server.task_dispatcher.shutdown()  # lets what is being written end
        server.close()
        stop.close()
        wake.close()
    say("Stopped.")
    return 0


