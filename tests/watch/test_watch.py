"""A design that is looked at on every save, over the page's own address."""

import http.client
import json
import threading
import time
import urllib.request
from pathlib import Path

import pytest

from foamwright.cli import main
from foamwright.contained import EndedError, Limits, contained
from foamwright.errors import DesignError
from foamwright.watch.run import Watched, folders, run
from foamwright.watch.server import Server
from foamwright.watch.state import Board

PLATE = """\
format: 1
name: Plate
version: 1.0.0
licence: CC0-1.0
parameters:
  scale: {value: 1, min: 0.5, max: 2}
  clearance: {value: 1 mm}
sizes: {one: {}}
stock:
  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}
forms: {}
parts:
  plate: {kind: plate, stock: foam, outline: {rectangle: {width: 80 mm * scale, height: 60 mm}}, at: {origin: [0, 0, 0], normal: z}}
"""
PATIENCE = 600.0  # seconds: a fresh clone compiles what lays pieces on sheets, on a machine that does much else


@pytest.fixture
def page(tmp_path, forked, request):
    """The design file, the page's server and board; a test's parameter says where packs go, if they do."""
    design = tmp_path / "plate.yaml"
    design.write_text(PLATE)
    board, ended, told = Board("plate.yaml"), threading.Event(), []
    server = Server(board)
    work = Watched(design, None, {}, tmp_path / request.param if hasattr(request, "param") else None)
    watching = threading.Thread(target=run, args=(work, board, ended, told.append, Limits()), daemon=True)
    watching.start()
    yield design, server, board
    ended.set()
    watching.join(PATIENCE)
    server.close()
    assert not watching.is_alive()


def fetched(server, path):
    with urllib.request.urlopen(server.address + path, timeout=PATIENCE) as answer:
        return answer.read()


def asked(server, path, host=""):
    """The status of the answer."""
    link = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=PATIENCE)
    link.putrequest("GET", path, skip_host=True)
    link.putheader("Host", host or f"127.0.0.1:{server.server_port}")
    link.endheaders()
    status = link.getresponse().status
    link.close()
    return status


def once(server, wanted):
    """The state as soon as it is as asked."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        state = json.loads(fetched(server, "state"))
        if wanted(state):
            return state
        time.sleep(0.1)
    raise AssertionError(state)


@pytest.mark.slow
@pytest.mark.parametrize("page", ["out"], indirect=True)
def test_a_look_is_followed_by_the_pack(page, tmp_path):
    _, server, _ = page
    state = once(server, lambda s: s["folder"])
    assert state["pack"] == "the pack is up to date"
    assert json.loads(fetched(server, "pack/pack.json"))["design"]["name"] == "Plate"
    (tmp_path / "secret.txt").write_text("mine")
    for way_out in ("/pack/../../../secret.txt", "/pack/..%2f..%2f..%2fsecret.txt", "/pack//etc/passwd"):
        assert asked(server, way_out) == 404


def test_a_save_is_looked_at_and_a_mistake_leaves_the_last_picture(page):
    design, server, _ = page
    state = once(server, lambda s: s["drawn"])
    assert state["name"] == "Plate, size one"
    assert state["look"]["extent"] == [60.0, 80.0, 10.0]
    assert fetched(server, "look/look.svg").startswith(b"<?xml")
    first = fetched(server, "look/look.svg")

    design.write_text(PLATE.replace("kind: plate", "kind: plite"))
    state = once(server, lambda s: s["error"])
    assert "plate.yaml:13:17: 'plite'" in state["error"] and "did you mean plate" in state["error"]
    assert state["old"]
    assert fetched(server, "look/look.svg") == first

    design.write_text(PLATE.replace("80 mm", "120 mm"))
    state = once(server, lambda s: s["look"]["extent"][1] == 120.0)
    assert not state["error"] and not state["old"]
    assert fetched(server, "look/look.svg") != first


def test_the_page_hears_of_every_change(page):
    _, server, board = page
    once(server, lambda s: s["drawn"] and not s["busy"])
    link = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=PATIENCE)
    link.request("GET", "/events")
    answer = link.getresponse()
    assert answer.getheader("Content-Type") == "text/event-stream"
    first = answer.readline()
    assert first == f"data: {board.shown.at}\n".encode()
    answer.readline()
    board.change(busy="something new")
    assert answer.readline() == f"data: {board.shown.at}\n".encode()
    link.close()


def test_the_page_is_for_this_machine(page):
    """A page of somebody else whose name leads here (DNS rebinding) sends its own name as host, and is refused."""
    _, server, _ = page
    assert server.server_address[0] == "127.0.0.1"
    assert asked(server, "/") == asked(server, "/page.js", f"localhost:{server.server_port}") == 200
    assert asked(server, "/", "evil.example") == asked(server, "/state", f"evil.example:{server.server_port}") == 403
    assert asked(server, "/look/../state.py") == asked(server, "/pack/pack.json") == 404
    with pytest.raises(DesignError, match=f"--port {server.server_port}: .*expected a free port"):
        Server(Board(""), server.server_port)


def test_what_a_design_includes_is_watched_too(tmp_path):
    (tmp_path / ".git").mkdir()
    inner = tmp_path / "designs"
    (tmp_path / "shared").mkdir()
    inner.mkdir()
    (tmp_path / "shared" / "foam.yaml").write_text(
        "format: 1\nstock:\n  foam: {name: EVA foam 10 mm, thickness: 10 mm, sheet: [600 mm, 1200 mm]}\n"
    )
    design = inner / "plate.yaml"
    start, end = PLATE.index("stock:"), PLATE.index("forms:")
    design.write_text("include: [../shared/foam.yaml]\n" + PLATE[:start] + PLATE[end:])
    assert folders(design) == (inner.resolve(), (tmp_path / "shared").resolve())
    design.write_text("nonsense: [")
    assert folders(design) == (inner.resolve(),)


def test_work_that_is_overtaken_ends(forked):
    stop = threading.Event()
    began = time.monotonic()
    with pytest.raises(EndedError, match="stopped while sleeping"):
        contained(
            lambda progress: (progress("sleeping"), time.sleep(600)), Limits(), lambda title: stop.set(), stop=stop
        )
    assert time.monotonic() - began < PATIENCE


@pytest.mark.parametrize(
    ("arguments", "words"),
    [(["nothing.yaml"], "there is no such file"), (["{design}", "--port", "80"], "expected a number from 1024")],
)
def test_a_wrong_call_is_one_line(tmp_path, capsys, arguments, words):
    design = Path(tmp_path / "plate.yaml")
    design.write_text(PLATE)
    assert main(["watch", *(a.format(design=design) for a in arguments)]) == 2
    assert words in capsys.readouterr().err
