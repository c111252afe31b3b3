"""A rebuild takes away what the last pack listed and nothing else, whatever happens while it writes."""

import json
import os
import sys
import threading
import time
from functools import partial

import pytest
from test_writing import FIRST, SECOND, pack, read_back

from foamwright.errors import BuildError
from foamwright.pack import folder as folders
from foamwright.pack.write import FIRST_LOOK, refuse_occupied, write_files, write_pack

MINE = {"notes.txt": b"glue more", "templates/mine.svg": b"<svg>mine</svg>", "photos/1.jpg": b"jpg", "other.zip": b"PK"}


@pytest.fixture(params=["exchanged", "renamed"])
def target(request, tmp_path, monkeypatch):
    """A pack with the maker's own files in its folder; once on a system that cannot exchange two names."""
    if request.param == "renamed":
        monkeypatch.setattr(folders, "_exchanged", lambda a, b: False)
    target = tmp_path / "out" / "pack"
    write_pack(target, FIRST)
    for path, content in MINE.items():
        (target / path).parent.mkdir(exist_ok=True)
        (target / path).write_bytes(content)
    return target


def test_what_is_not_of_the_pack_is_left_and_said(target):
    (target / "empty").mkdir()
    (target / "to notes").symlink_to("notes.txt")
    (target / "nowhere").symlink_to("/does/not/exist")
    before = os.stat(target / "notes.txt")
    left = write_pack(target, SECOND)
    assert sorted(left) == sorted([*MINE, "empty", "nowhere", "to notes"])
    assert read_back(target) == SECOND | MINE | {"to notes": MINE["notes.txt"]}
    assert (target / "empty").is_dir() and os.readlink(target / "nowhere") == "/does/not/exist"
    assert os.stat(target / "notes.txt").st_ino == before.st_ino  # the file itself and no copy
    assert os.stat(target / "notes.txt").st_nlink == 1
    assert os.listdir(target.parent) == ["pack"]
    assert sorted(write_pack(target, FIRST)) == sorted(left)


def test_a_pack_may_be_written_where_its_first_look_lies(tmp_path):
    """Both are written into FOLDER/design/size, so one --out may be given for both."""
    target = tmp_path / "pack"
    look = dict.fromkeys(FIRST_LOOK, b"seen")
    write_files(look, target)
    for files in (FIRST, SECOND):
        assert write_pack(target, files) == ()
        assert read_back(target) == files | look
    (tmp_path / "other").mkdir()
    for name in ("look.png", "notes.txt"):
        (tmp_path / "other" / name).write_bytes(b"mine")
    for refused in (partial(write_pack, files=FIRST), refuse_occupied):  # the second one before anything is worked out
        with pytest.raises(BuildError, match=r"holds other files, as notes\.txt, and no pack"):
            refused(tmp_path / "other")
    for free in (target, tmp_path / "new"):
        refuse_occupied(free)
    with pytest.raises(BuildError, match="is a file"):
        refuse_occupied(tmp_path / "other" / "notes.txt")


def test_links_in_the_folder_are_never_followed(target, tmp_path):
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "a.svg").write_bytes(b"not of the pack")
    (target / "linked").symlink_to(elsewhere, target_is_directory=True)
    write_pack(target, SECOND)
    assert (target / "linked").is_symlink() and read_back(elsewhere) == {"a.svg": b"not of the pack"}
    # and a folder of the pack that the maker has replaced by a link is not written through
    for path in (target / "templates").iterdir():
        path.unlink()
    (target / "templates").rmdir()
    (target / "templates").symlink_to(elsewhere, target_is_directory=True)
    with pytest.raises(BuildError, match="templates is not of the pack"):
        write_pack(target, FIRST)
    assert read_back(elsewhere) == {"a.svg": b"not of the pack"}


@pytest.mark.parametrize("path", ["booklet.pdf", "templates/b.svg", "templates/b.svg/deeper.txt"])
def test_a_file_of_the_makers_keeps_its_name(target, path):
    (target / path).parent.mkdir(exist_ok=True)
    (target / path).write_bytes(b"mine")
    before = read_back(target)
    with pytest.raises(BuildError, match="not of the pack that stands there"):
        write_pack(target, SECOND)
    assert read_back(target) == before and os.listdir(target.parent) == ["pack"]


@pytest.mark.parametrize(
    "record", [b"{}", b"[]", b"", b"\xff", b'{"format": 1}', b'{"format":1,"design":1,"files":[1]}']
)
def test_a_folder_with_any_file_of_that_name_is_no_pack(tmp_path, record):
    (tmp_path / "pack.json").write_bytes(record)
    (tmp_path / "main.py").write_bytes(b"print()")
    with pytest.raises(BuildError, match="no pack"):
        write_pack(tmp_path, FIRST)
    assert read_back(tmp_path) == {"pack.json": record, "main.py": b"print()"}


def stopped_at(number, target, files):
    """Write in a child that is killed at its action of that number on the disk; True if it was, False if it ended.

    Actions are the audit events of Python (PEP 578), each told before it is done.
    """
    child = os.fork()
    if child == 0:
        seen = 0

        def count(event, arguments):
            nonlocal seen
            if event in ("open", "shutil.rmtree", "ctypes.call_function") or event.startswith("os."):
                seen += 1
                if seen == number:
                    os._exit(9)

        try:
            sys.addaudithook(count)
            write_pack(target, files)
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9


@pytest.mark.filterwarnings("ignore:.*use of fork:DeprecationWarning")  # the child touches files only
def test_killed_at_any_moment_it_leaves_one_pack_whole_and_every_file_of_the_makers(target):
    old, new = FIRST | MINE, SECOND | MINE
    number, kills, left_new = 0, 0, 0
    while True:
        number += 1
        killed = stopped_at(number, target, SECOND)
        if target.exists():  # on a system that cannot exchange names there is a moment when it is aside
            assert read_back(target) in (old, new), f"killed at action {number}"
            left_new += read_back(target) == new
        if not killed:
            assert read_back(target) == new
            break
        kills += 1
        # the next build brings back and clears away; here it is the old pack again, so that the next kill starts there
        write_pack(target, FIRST)
        assert read_back(target) == old, f"after the kill at action {number}"
        assert os.listdir(target.parent) == ["pack"]
    assert kills > 30 and 0 < left_new < kills


def test_a_pack_that_a_kill_has_set_aside_comes_back_even_if_the_next_build_fails(tmp_path):
    aside = tmp_path / ".pack.foamwright" / "old"
    write_pack(aside, FIRST)
    (aside / "notes.txt").write_bytes(b"mine")
    with pytest.raises(ValueError, match="not a path"):
        write_pack(tmp_path / "pack", {"../x": b""})
    assert read_back(tmp_path) == {f"pack/{path}": content for path, content in FIRST.items()} | {
        "pack/notes.txt": b"mine"
    }


@pytest.mark.parametrize("failing", [1, 2, 3, 4])
def test_the_old_pack_survives_a_full_disk(target, monkeypatch, failing):
    kind, calls = type(target), []
    real = kind.write_bytes

    def full(self, content):
        calls.append(self)
        if len(calls) == failing:
            raise OSError(28, "No space left on device", str(self))
        return real(self, content)

    before = read_back(target)
    monkeypatch.setattr(kind, "write_bytes", full)
    if failing <= len(SECOND):
        with pytest.raises(BuildError, match="No space left"):
            write_pack(target, SECOND)
        assert read_back(target) == before
    else:
        write_pack(target, SECOND)
    assert os.listdir(target.parent) == ["pack"]


def test_a_swap_that_fails_halfway_is_taken_back(tmp_path, monkeypatch):
    target = tmp_path / "pack"
    write_pack(target, FIRST)
    monkeypatch.setattr(folders, "_exchanged", lambda a, b: False)
    kind, calls = type(target), []
    real = kind.rename

    def failing(self, other):
        calls.append(self)
        if len(calls) == 2:
            raise OSError(5, "Input/output error")
        return real(self, other)

    monkeypatch.setattr(kind, "rename", failing)
    with pytest.raises(BuildError, match="Input/output"):
        write_pack(target, SECOND)
    assert read_back(target) == FIRST and os.listdir(tmp_path) == ["pack"]


def test_an_interrupt_leaves_the_old_pack(target, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    before = read_back(target)
    monkeypatch.setattr(type(target), "write_bytes", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_pack(target, SECOND)
    assert read_back(target) == before and os.listdir(target.parent) == ["pack"]


def test_two_writers_take_turns(tmp_path):
    packs = [pack(**{f"f{k}_txt": b"x" * k}) for k in range(6)]
    writers = [threading.Thread(target=write_pack, args=(tmp_path / "pack", files)) for files in packs]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert read_back(tmp_path / "pack") in packs and os.listdir(tmp_path) == ["pack"]


def test_a_writer_who_keeps_the_folder_is_named_after_a_while(tmp_path, monkeypatch):
    monkeypatch.setattr(folders, "_PATIENCE", 0.2)
    began = time.monotonic()
    with folders.alone_in(tmp_path), pytest.raises(BuildError, match="another build"):
        write_pack(tmp_path / "pack", FIRST)
    assert time.monotonic() - began < 30.0  # otherwise a minute
    assert list(tmp_path.iterdir()) == []


def test_a_file_the_maker_adds_while_the_pack_is_written_is_kept(target, monkeypatch):
    real = folders.exchange

    def late(new, old, aside):
        (old / "late.txt").write_bytes(b"late")
        real(new, old, aside)

    monkeypatch.setattr("foamwright.pack.write.exchange", late)
    write_pack(target, SECOND)
    assert read_back(target) == SECOND | MINE | {"late.txt": b"late"}


def test_the_record_of_a_pack_that_was_changed_by_hand_still_tells_what_is_its_own(target):
    record = json.loads((target / "pack.json").read_bytes())
    record["files"].append({"path": "../outside.txt"})
    (target / "pack.json").write_text(json.dumps(record), "utf-8")
    (target.parent / "outside.txt").write_bytes(b"outside")
    write_pack(target, SECOND)
    assert (target.parent / "outside.txt").read_bytes() == b"outside"


@pytest.mark.parametrize("write", [lambda f: write_pack(f, FIRST), lambda f: write_files(FIRST, f)])
@pytest.mark.parametrize("below", [".", "deeper"])
def test_nothing_is_made_where_a_link_leads_nowhere(tmp_path, write, below):
    (tmp_path / "out").symlink_to("elsewhere")
    with pytest.raises(BuildError, match="out is a link to elsewhere, which is not there"):
        write(tmp_path / "out" / below)
    assert os.listdir(tmp_path) == ["out"]
