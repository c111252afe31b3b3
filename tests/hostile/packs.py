"""Packs that somebody else has made, for the commands that read them: `compare` and `gallery`."""

from __future__ import annotations

import copy
import io
import json
import random
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.gallery.made_packs import make
from tests.hostile.trial import Place, Trial, fifo, folder, link, sparse

Route = tuple[str | int, ...]

ODD: tuple[Any, ...] = (
    None, "", "x", "\x1b[31m\n::error::x", "\u202e", -1, 0, 1.5, 1e308, float("nan"), float("inf"), 10**400, True, [], [1], [[]], [None],
    {}, {"x": 1}, "x" * 100_000,
)  # fmt: skip
GONE = object()
SAMPLE = 400  # of all values that are turned into something else
_WAYS = ("text", "markdown", "json", "svg", "html")


def trials() -> list[Trial]:
    whole = _files()
    record = json.loads(whole["pack.json"])
    cases = [(route, value) for route in _routes(record) for value in (*ODD, GONE)]
    found = [_trial("sound", whole, number, "built") for number in range(12)]
    for number, (route, value) in enumerate(random.Random(5).sample(cases, SAMPLE)):
        name = f"{'.'.join(map(str, route))} {'gone' if value is GONE else repr(value)[:20]}"
        changed = json.dumps(_with(record, route, value)).encode()
        found.append(_trial(name, {**whole, "pack.json": changed}, number))
    for name, content in _records():
        found += [_trial(f"record: {name}", {**whole, "pack.json": content}, number, "refused") for number in (0, 1)]
    for path in ("pack.json", "templates.pdf", "lamp-small.zip", "model/prop.glb", "picture.png", "shopping-list.csv"):
        for name, content in (("a FIFO", fifo), ("a link out", link("/etc/hostname")), ("a link to nothing", link("nowhere")),
                              ("a link to itself", link(path.rpartition("/")[2])), ("a folder", folder), ("10 GB", sparse(10**10)), ("empty", b"")):  # fmt: skip
            found += [_trial(f"{path} is {name}", {**whole, path: content}, number) for number in (0, 1)]
    for name, content in _archives(whole):
        call = ("compare", "x.zip", "old")
        found.append(Trial(f"archive: {name}", {"x.zip": content, **_in("old", whole)}, expects="refused", call=call))
    return found


def _trial(name: str, files: dict[str, Place], number: int, expects: str = "either") -> Trial:
    """A pack with something odd in it, beside a sound one; every second for a gallery."""
    if number % 2:
        return Trial(f"gallery, {name}", _in("packs/a", files), expects=expects, call=("gallery", "packs"))
    way = _WAYS[number // 2 % len(_WAYS)]
    sides = ("old", "new") if number % 4 else ("new", "old")
    return Trial(
        f"compare, {name}",
        {**_in("old", _files()), **_in("new", files)},
        expects=expects,
        call=("compare", *sides, "--as", way),
    )


def _in(where: str, files: dict[str, Place]) -> dict[str, Place]:
    return {f"{where}/{path}": content for path, content in files.items()}


def _files() -> dict[str, Any]:
    """A pack that is as it should be, by paths."""
    if not _MADE:
        with tempfile.TemporaryDirectory() as place:
            pack = make(Path(place) / "a")
            record = json.loads((pack / "pack.json").read_bytes())
            for part in record["parts"]:
                part["edges"] = [{"id": "low", "length": 90.0, "bevel": [0.0, 45.0]}]
                part["holes"] = [[[10.0, 10.0], [10.0, 20.0], [20.0, 20.0]]]
                part["darts"] = [{"legs": [10.0, 10.0], "opening": 5.0, "depth": 9.0}]
            ends = ({"part": "side", "edge": "low"}, {"part": "lid", "edge": "low"})
            record["seams"] = [
                {"id": "s", "a": ends[0], "b": ends[1], "length_a": 90.0, "length_b": 90.0, "glue": "contact"}
            ]
            record["about"]["channel"] = {
                "video": "https://example.org/a", "times": {"side": "1:30"}, "suppliers": {"shell": [{"name": "A", "address": "https://example.org/b", "paid": True}]}
            }  # fmt: skip
            (pack / "pack.json").write_text(json.dumps(record))
            _MADE.update({p.relative_to(pack).as_posix(): p.read_bytes() for p in pack.rglob("*") if p.is_file()})
    return dict(_MADE)


_MADE: dict[str, bytes] = {}


def _routes(value: Any, route: Route = ()) -> Iterator[Route]:
    if route:
        yield route
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _routes(item, (*route, key))
    elif isinstance(value, list) and value:
        yield from _routes(value[0], (*route, 0))


def _with(record: Any, route: Route, value: Any) -> Any:
    made = copy.deepcopy(record)
    holder = made
    for step in route[:-1]:
        holder = holder[step]
    if value is GONE:
        del holder[route[-1]]
    else:
        holder[route[-1]] = value
    return made


def _records() -> list[tuple[str, bytes]]:
    return [
        ("nothing", b""), ("a list", b"[]"), ("a number", b"1"), ("deep", b"[" * 100_000), ("format 2", b'{"format": 2}'), ("format alone", b'{"format": 1}'),
        ("5,000 digits", b'{"format": ' + b"1" * 5000 + b"}"), ("random", bytes((i * 7919) % 256 for i in range(5000))), ("UTF-16", '{"format": 1}'.encode("utf-16")),
        ("half a letter", b'{"format": 1, "design": "\xe2\x82"}'), ("keys twice", b'{"format": 1, "format": 2}'), ("300,000 empty lists", b'{"format": 1, "parts": [' + b"[]," * 300_000 + b"[]]}"),
    ]  # fmt: skip


def _archives(whole: dict[str, bytes]) -> list[tuple[str, bytes]]:
    def zipped(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", method) as archive:
            for path, content in files.items():
                archive.writestr(path, content)
        return out.getvalue()

    good = zipped({"a/pack.json": whole["pack.json"]})
    locked, method, middle = bytearray(good), bytearray(good), bytearray(good)
    for mark, flags, at in ((b"PK\x03\x04", 6, 8), (b"PK\x01\x02", 8, 10)):
        locked[locked.index(mark) + flags] |= 1
        method[method.index(mark) + at] = 97
    for i in range(60, 90):
        middle[i] ^= 0x5A
    return [
        ("empty", b""), ("no archive", b"PK"), ("no file in it", zipped({})), ("locked", bytes(locked)), ("packed in an unknown way", bytes(method)),
        ("damaged", bytes(middle)), ("cut short", good[: len(good) // 2]), ("another record", zipped({"pack.json": b"[]"})), ("a bomb", zipped({"pack.json": bytes(300 * 2**20)})),
        ("a record above it", zipped({"../pack.json": b"[]"})), ("10,000 files", zipped({f"f{i}": b"" for i in range(10_000)}, zipfile.ZIP_STORED)),
    ]  # fmt: skip
