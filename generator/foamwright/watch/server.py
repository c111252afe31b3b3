"""The page and what it asks for, to this machine alone (the loopback address)."""

from __future__ import annotations

import json
import sys
import threading
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from foamwright.design.files import UnreadableError, resolved
from foamwright.errors import DesignError
from foamwright.pack.files import media_type
from foamwright.watch.state import Board

HOST = "127.0.0.1"
_BEAT = 10.0  # seconds after which a page that waits is told that nothing has changed
_POLICY = "default-src 'none'; img-src 'self'; style-src 'unsafe-inline'; script-src 'self'; connect-src 'self'"


class Server(ThreadingHTTPServer):
    """Serves until it is closed. Raises DesignError for a port that is taken."""

    daemon_threads = True

    def __init__(self, board: Board, port: int = 0) -> None:
        self.board = board
        self.ended = threading.Event()
        try:
            super().__init__((HOST, port), _Page)
        except OSError as error:
            raise DesignError(f"--port {port}: {error.strerror}; expected a free port, or 0 for any") from error
        threading.Thread(target=self.serve_forever, daemon=True).start()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A page that was closed while it was sent something is no fault; of any other it is told as usual."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            super().handle_error(request, client_address)

    @property
    def address(self) -> str:
        return f"http://{HOST}:{self.server_port}/"

    def close(self) -> None:
        self.ended.set()
        self.shutdown()
        self.server_close()


class _Page(BaseHTTPRequestHandler):
    server: Server
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        # a page elsewhere may have its own name lead here: it is told nothing
        if self.headers.get("Host") not in (
            f"{HOST}:{self.server.server_port}",
            f"localhost:{self.server.server_port}",
        ):
            return self._refuse(HTTPStatus.FORBIDDEN)
        path = unquote(self.path.partition("?")[0])
        if path == "/":
            return self._send(_packaged("page.html"), "text/html; charset=utf-8")
        if path == "/page.js":
            return self._send(_packaged("page.js"), "text/javascript; charset=utf-8")
        if path == "/state":
            return self._send(json.dumps(self.server.board.shown.told()).encode(), "application/json")
        if path == "/events":
            return self._events()
        kind, _, name = path.removeprefix("/").partition("/")
        if kind == "look" and name in self.server.board.shown.files:
            return self._send(self.server.board.shown.files[name], media_type(name))
        if kind == "pack" and (file := _within(self.server.board.shown.folder, name)):
            return self._send(file.read_bytes(), media_type(file.name))
        return self._refuse(HTTPStatus.NOT_FOUND)

    def _events(self) -> None:
        """Server-sent events (HTML standard, section 9.2): one for each change."""
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.send_header("Cache-Control", "no-store")
        self.send_header("Connection", "close")
        self.end_headers()
        at = -1
        try:
            while not self.server.ended.is_set():
                shown = self.server.board.after(at, _BEAT)
                self.wfile.write(b": still here\n\n" if shown.at == at else f"data: {shown.at}\n\n".encode())
                self.wfile.flush()
                at = shown.at
        except OSError:  # the page was closed
            pass
        self.close_connection = True

    def _send(self, content: bytes, kind: str) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        if kind.startswith("text/html") and self.path == "/":
            self.send_header("Content-Security-Policy", _POLICY)
        self.end_headers()
        self.wfile.write(content)

    def _refuse(self, status: HTTPStatus) -> None:
        self.send_error(status)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing: the terminal belongs to what the maker is told."""


def _packaged(name: str) -> bytes:
    return files("foamwright.watch").joinpath(name).read_bytes()


def _within(folder: str, name: str) -> Path | None:
    """A file of a pack; None for one that is not there, or not in it."""
    if not folder or not name:
        return None
    try:
        root, path = resolved(Path(folder)), resolved(Path(folder) / name)
        return path if path.is_relative_to(root) and path.is_file() else None
    except (UnreadableError, OSError):  # no name that a file can have
        return None
