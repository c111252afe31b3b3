"""One pack as the gallery tells it: read from its folder, every file that is given away held against its checksum."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from foamwright.changes.packs import read_pack
from foamwright.design.load import check_file_name
from foamwright.errors import DesignError
from foamwright.language import phrase
from foamwright.pack.files import RECORD, media_type

_SIZE = re.compile(r"[\w][\w.+-]{0,150}", re.ASCII)  # of what a size is called
_VERSION = re.compile(r"\d+\.\d+\.\d+([-+][0-9A-Za-z.+-]+)?")
_CHUNK = 2**20
_MOST_BYTES = 2**30  # of one file that is given away
_SECTIONS = (
    "about",
    "work",
    "materials",
    "parts",
    "sheets",
    "pages",
    "steps",
    "fit",
    "files",
)  # all that its pages tell
PICTURE, MODEL, BOOKLET = "picture.png", "model/prop.glb", "booklet.html"
# What is given away one by one, beside the archive that holds all: what it is called for those who do not know.
OFFERED = {
    "templates.pdf": phrase("Templates to print"),
    "gauges.pdf": phrase("Bend gauges to print"),
    "booklet.pdf": phrase("Assembly booklet to print"),
    BOOKLET: phrase("Assembly booklet for a screen"),
    "sheets.pdf": phrase("How the pieces lie on the foam"),
    "cut-list.csv": phrase("Cut list"),
    "shopping-list.csv": phrase("Shopping list"),
    "strain.pdf": phrase("Where the foam must give"),
    "proof.pdf": phrase("How it came out when a computer built it"),
    MODEL: phrase("3D model (glTF)"),
    "model/prop.step": phrase("3D model (STEP)"),
    PICTURE: phrase("Picture"),
    RECORD: phrase("Everything that was computed, for programs"),
}
WHOLE = phrase("Everything in one archive")


@dataclass(frozen=True)
class Download:
    """A file of a pack: its path in the pack, what it is, its size and the checksum that it was found to have."""

    path: str
    title: str
    bytes: int
    sha256: str
    kind: str


@dataclass(frozen=True)
class Published:
    """A pack with all that its pages tell. `about` and `work` are these sections of its record."""

    folder: str
    name: str
    version: str
    size: str
    base: str  # the size of the design that its values start from
    digest: str
    about: Mapping[str, Any]
    work: Mapping[str, Any]
    overall: tuple[float, ...]  # mm; empty where it is not known
    foams: tuple[float, ...]  # thicknesses in mm
    materials: Mapping[str, Mapping[str, Any]]
    parts: tuple[Mapping[str, Any], ...]  # id, label, name, quantity, material
    steps: tuple[Mapping[str, Any], ...]  # number, title, minutes, parts
    cautions: tuple[str, ...]  # keys of booklet/pages/cautions.py
    sheets: tuple[tuple[str, int], ...]  # material and number
    pages: tuple[tuple[str, str, int], ...]  # file, paper and number
    costs: Mapping[str, float]
    mass: float | None  # kg
    figure: str
    downloads: tuple[Download, ...]  # the archive first

    @property
    def id(self) -> str:
        name: str = self.about["id"]
        return name

    @property
    def place(self) -> str:
        """Its folder in the site."""
        return f"{self.id}/{self.version}/{self.size}"

    @property
    def pieces(self) -> int:
        return sum(part["quantity"] for part in self.parts)

    def download(self, path: str) -> Download | None:
        return next((file for file in self.downloads if file.path == path), None)


def found_below(paths: Iterable[str]) -> tuple[str, ...]:
    """Every folder with a pack at or below the given ones, in order of their names.

    DesignError: there is none at one of them.
    """
    folders: dict[str, None] = {}
    for path in paths:
        below = []
        for folder, inside, files in os.walk(path):
            inside[:] = sorted(name for name in inside if not name.startswith("."))  # such as that of a running build
            if RECORD in files:
                below.append(folder)
                inside.clear()
        if not below:
            raise DesignError(f"{path}: no pack is there; expected a folder that `foamwright build` made, or one above")
        folders |= dict.fromkeys(below)
    return tuple(folders)


def signature(folder: str) -> tuple[tuple[str, int, int], ...]:
    """Name, size and time of every file that may be given away: while they stay, so does the pack."""
    files = []
    for below, before in ((folder, ""), (f"{folder}/model", "model/")):
        if os.path.isdir(below):
            with os.scandir(below) as entries:
                for entry in entries:
                    if entry.is_file(follow_symlinks=False):
                        status = entry.stat()
                        files.append((before + entry.name, status.st_size, status.st_mtime_ns))
    return tuple(sorted(files))


def published(folder: Path) -> Published:
    """The pack in a folder. DesignError, one line: it is none, is not whole, or a file is not what its record says."""
    side = read_pack(folder)
    only = side.record.get("only")
    if isinstance(only, list) and only:
        made = ", ".join(map(str, only))
        raise DesignError(f"{folder}: it holds {made} only; expected a whole pack: build it again without --only")
    missing = [name for name in _SECTIONS if name not in side.record]
    if missing:
        raise DesignError(f"{folder / RECORD}: has no {missing[0]}; expected a whole pack: build it again")
    return _published(folder, side.record, side.costs)


def _published(folder: Path, record: Mapping[str, Any], costs: Mapping[str, float]) -> Published:
    design, about = record["design"], record["about"]
    _check_names(folder, about["id"], design["version"], design["size"])
    materials = {material["id"]: material for material in record["materials"]}
    labels = {part["id"]: part["label"] for part in record["parts"]}
    foams = {m["thickness"] for m in materials.values() if m["type"] == "foam"}
    unknown = [one["material"] for one in (*record["parts"], *record["sheets"]) if one["material"] not in materials]
    if unknown:
        raise DesignError(f"{folder / RECORD}: lists no material {unknown[0]!r}, of which it has a part or a sheet")
    fit = record["fit"]
    pages = Counter((page["file"], page["paper"]) for page in record["pages"])
    sheets = Counter(sheet["material"] for sheet in record["sheets"])
    return Published(
        folder=str(folder),
        name=str(design["name"]),
        version=design["version"],
        size=design["size"],
        base=design.get("base_size", design["size"]),
        digest=str(design["digest"]),
        about=about,
        work=record["work"],
        overall=tuple(map(float, record.get("overall") or ())),
        foams=tuple(sorted(map(float, foams))),
        materials=materials,
        parts=tuple({key: p[key] for key in ("id", "label", "name", "quantity", "material")} for p in record["parts"]),
        steps=tuple(
            {
                "number": int(step["number"]),
                "title": str(step["title"]),
                "minutes": float(step["minutes"]),
                "parts": [labels[part] for part in step["parts"] if part in labels],
                "names": [f"{p['label']} {p['name']}" for p in record["parts"] if p["id"] in step["parts"]],
            }
            for step in record["steps"]
        ),
        cautions=tuple(dict.fromkeys(key for step in record["steps"] for key in step["cautions"])),
        sheets=tuple(sheets.items()),
        pages=tuple((file, paper, number) for (file, paper), number in pages.items()),
        costs=costs,
        mass=fit["mass"],
        figure=fit["figure"] or "",
        downloads=tuple(_downloads(folder, record)),
    )


def _check_names(folder: Path, name: str, version: str, size: str) -> None:
    """What becomes a folder of the site is held against what the program gives such names, whoever wrote the record."""
    try:
        check_file_name(Path(f"{name}.yaml"))
        fit = "/" not in name and Path(name).name == name
    except DesignError:
        fit = False
    if not (fit and _VERSION.fullmatch(version) and _SIZE.fullmatch(size)):
        raise DesignError(f"{folder / RECORD}: names no design, version and size that could be folders of a site")


def _downloads(folder: Path, record: Mapping[str, Any]) -> Iterable[Download]:
    """The archive, then what is offered alone. DesignError: a file is missing or is not what the record says."""
    listed = {entry["path"]: entry for entry in record["files"]}
    archive = record.get("archive")
    wanted = ({archive: WHOLE} if archive else {}) | {
        path: title for path, title in OFFERED.items() if path in listed or path == RECORD
    }
    for path, title in wanted.items():
        inside = PurePosixPath(path)
        if inside.is_absolute() or ".." in inside.parts:
            raise DesignError(f"{folder / RECORD}: lists {path!r}, which is no file of the pack")
        entry = listed.get(path)
        if not _own(folder, path):
            raise DesignError(f"{folder / path}: expected a file of the pack itself, and no link or device")
        size, digest = _measured(folder / path)
        if entry is not None and (entry["bytes"], entry["sha256"]) != (size, digest):
            raise DesignError(f"{folder / path}: is not the file that {RECORD} lists; build the pack again")
        yield Download(path, title, size, digest, media_type(path))


def _own(folder: Path, path: str) -> bool:
    """Whether it is a regular file within the folder, whose content nobody keeps elsewhere; what is not there is judged later."""
    try:
        kind = os.lstat(folder / path).st_mode
    except OSError:
        return True
    return stat.S_ISREG(kind) and os.path.realpath(folder / path) == os.path.join(os.path.realpath(folder), path)


def _measured(path: Path) -> tuple[int, str]:
    """Size and SHA-256 of a file."""
    digest, size = hashlib.sha256(), 0
    try:
        with path.open("rb") as file:
            if os.fstat(file.fileno()).st_size > _MOST_BYTES:
                raise DesignError(f"{path}: larger than {_MOST_BYTES} bytes, which no pack needs")
            while chunk := file.read(_CHUNK):
                digest.update(chunk)
                size += len(chunk)
    except OSError as error:
        raise DesignError(f"{path}: is listed by {RECORD} and cannot be read: {error.strerror}") from error
    return size, digest.hexdigest()
