"""What anybody on this machine may ask the page of `watch` for, and pages that are closed while they are sent something."""

import socket

import pytest

from foamwright.watch.server import Server
from foamwright.watch.state import Board


@pytest.fixture
def server(tmp_path):
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack/notes.md").write_text("mine")
    (tmp_path / "pack/large.pdf").write_bytes(bytes(30_000_000))
    (tmp_path / "pack/loop").symlink_to("loop")
    (tmp_path / "pack/out").symlink_to(tmp_path / "secret")
    (tmp_path / "secret").write_text("not of the pack")
    board = Board("lamp.yaml")
    board.change(folder=str(tmp_path / "pack"))
    server = Server(board)
    yield server
    server.close()


def asked(server, path, read=True):
    """The first line of the answer; "" for none."""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=60) as link:
        link.sendall(f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{server.server_port}\r\n\r\n".encode("latin-1"))
        return link.recv(100).decode("latin-1").splitlines()[0] if read else ""


NO_FILES = ("%00", "loop", "out", "../secret", "%2e%2e/secret", "x" * 5000, "%ff", "[", "", "notes.md/x")


def test_what_is_no_file_of_the_pack_is_not_there(server, capfd):
    for path in (*(f"/pack/{name}" for name in NO_FILES), "http://[/", "//[", "*"):
        assert asked(server, path) == "HTTP/1.1 404 Not Found", path
    assert capfd.readouterr() == ("", "")


def test_a_page_that_is_closed_while_it_loads_is_no_fault(server, capfd):
    for _ in range(3):
        asked(server, "/pack/large.pdf", read=False)
    assert asked(server, "/pack/notes.md?v=1") == "HTTP/1.1 200 OK"
    server.close()
    assert capfd.readouterr() == ("", "")
