"""Reads the written files of a pack. Lengths in mm; nothing here knows what the files were made from."""

from __future__ import annotations

import io
import json
import math
import re
import struct
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from pypdf import PageObject, PdfReader
from pypdf.generic import DecodedStreamObject, NameObject

_SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
_STEP_SOLID = re.compile(rb"=\s*(?:MANIFOLD_SOLID_BREP|BREP_WITH_VOIDS)\s*\(")
_STEP_PLACED = re.compile(rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\s*\(\s*'[^']*'\s*,\s*'((?:[^']|'')*)'")
# A text object; the operators that bound it may also stand within a string, as the letters of a part do.
_PDF_TEXT = re.compile(rb"\bBT\b(?:[^()E]|\bE(?!T\b)|\BE|\((?:[^()\\]|\\.)*\))*\bET\b", re.DOTALL)
_SHORT = 100  # bytes of a text object: font, place and up to some ten letters
_FROM_GLTF = 1000.0 * np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])  # metres, y up, to mm, z up


@dataclass(frozen=True, eq=False)
class Drawn:
    """A drawing as its file has it: closed lines (n, 2) by layer, first point not repeated, y up; open `lines` by layer,
    where the format is read for them; and all texts."""

    rings: Mapping[str, tuple[np.ndarray, ...]]
    texts: tuple[str, ...]
    lines: Mapping[str, tuple[np.ndarray, ...]] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Body:
    """A node of the model: points (n, 3) in their place and triangles (m, 3) counter-clockwise from outside."""

    name: str
    points: np.ndarray
    triangles: np.ndarray

    @property
    def volume(self) -> float:
        """mm3."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return float((a * np.cross(b, c)).sum() / 6.0)


def svg(data: bytes) -> Drawn:
    """A template's SVG. One group for each layer, its id the layer's name."""
    root = ElementTree.fromstring(data)
    rings: dict[str, list[np.ndarray]] = {}
    lines: dict[str, list[np.ndarray]] = {}
    texts = []
    for group in root.iter(f"{_SVG}g"):
        for path in group.iter(f"{_SVG}path"):
            for stretch in path.get("d", "").split("M ")[1:]:
                points = np.array([float(n) for n in _NUMBER.findall(stretch)]).reshape(-1, 2)
                kept = rings if stretch.rstrip().endswith("Z") else lines
                kept.setdefault(group.get("id", ""), []).append(points * (1.0, -1.0))
        texts += [text.text or "" for text in group.iter(f"{_SVG}text")]
    closed, open_ = ({layer: tuple(drawn) for layer, drawn in kept.items()} for kept in (rings, lines))
    return Drawn(closed, tuple(texts), open_)


def dxf(data: bytes) -> Drawn:
    """A template's DXF. One layer for each layer; closed LWPOLYLINEs.

    Read as the pairs of group code and value that it consists of, and not by the library that wrote it.
    """
    written = data.decode("utf-8").splitlines()
    pairs = list(zip(map(int, written[0::2]), written[1::2]))
    rings: dict[str, list[np.ndarray]] = {}
    texts = []
    for kind, entity in _dxf_entities(pairs):
        groups = dict(entity)
        if kind == "LWPOLYLINE" and int(groups.get(70, 0)) & 1:
            points = np.array([[float(value) for code, value in entity if code == axis] for axis in (10, 20)]).T
            rings.setdefault(groups[8], []).append(points)
        elif kind == "TEXT":
            texts.append(groups[1])
    return Drawn({layer: tuple(drawn) for layer, drawn in rings.items()}, tuple(texts))


def _dxf_entities(pairs: Sequence[tuple[int, str]]) -> Iterator[tuple[str, Sequence[tuple[int, str]]]]:
    """What kind each entity of a drawing is, and its groups. Group 0 begins an entity or ends the section."""
    begins = [number for number, (code, _) in enumerate(pairs) if code == 0]
    at = pairs.index((2, "ENTITIES"))
    for begin, end in pairwise([number for number in begins if number > at]):
        if pairs[begin][1] == "ENDSEC":
            return
        yield pairs[begin][1], pairs[begin + 1 : end]
    raise ValueError("a DXF file that ends within its entities")


def pdf_pages(data: bytes) -> tuple[tuple[float, float, str], ...]:
    """Width and height in mm, and the text, of every page."""
    point = 25.4 / 72.0
    return tuple(
        (float(page.mediabox.width) * point, float(page.mediabox.height) * point, _text(page, math.inf))
        for page in PdfReader(io.BytesIO(data)).pages
    )


def pdf_leaves(data: bytes) -> Sequence[PageObject]:
    """The pages of a file, each read when it is asked for its text: most of a booklet need not be."""
    return PdfReader(io.BytesIO(data)).pages


def short_lines(leaf: PageObject) -> set[str]:
    """The lines of text of a page that are one short word, as the letter of a part by itself is."""
    return {line.strip() for line in _text(leaf, _SHORT).splitlines()}


def _text(leaf: PageObject, most: float) -> str:
    """The text of a page, of text objects of less than `most` bytes.

    Only what stands between BT and ET is read (ISO 32000-1, 9.4.1): the strokes of a plan take ten times as long. Each
    is read apart, so that no two texts become one line.
    """
    contents = leaf.get_contents()
    written = _PDF_TEXT.findall(b"" if contents is None else contents.get_data())
    words = DecodedStreamObject()
    words.set_data(b"\n".join(text for text in written if len(text) < most))
    leaf[NameObject("/Contents")] = words
    return leaf.extract_text()


def step_names(data: bytes) -> tuple[int, tuple[str, ...]]:
    """How many solids a STEP file (ISO 10303-21) describes, and the name of every copy that its assembly places.

    Read as text, without a kernel; blanks in names are left out, as lines may be broken there.
    """
    solids = len(_STEP_SOLID.findall(data))
    return solids, tuple(_step_text(match[1].decode("ascii", "replace")) for match in _STEP_PLACED.finditer(data))


def _step_text(written: str) -> str:
    """A string as ISO 10303-21 writes it: two apostrophes and two backslashes are one, \\X2\\...\\X0\\ is UTF-16."""
    text = re.sub(
        r"\\X2\\([0-9A-F]+)\\X0\\", lambda code: bytes.fromhex(code[1]).decode("utf-16-be", "replace"), written
    )
    return without_blanks(text.replace("''", "'").replace("\\\\", "\\"))


def without_blanks(text: str) -> str:
    return "".join(text.split())


def glb(data: bytes) -> tuple[Body, ...]:
    """Every node with a mesh of a binary glTF 2.0 file (ISO/IEC 12113), in mm, x forward and z up."""
    size, _ = struct.unpack_from("<II", data, 12)
    document = json.loads(data[20 : 20 + size])
    store = data[20 + size + 8 :]
    bodies = []
    for node in document["nodes"]:
        if "mesh" not in node:
            continue
        parts, faces, start = [], [], 0
        for primitive in document["meshes"][node["mesh"]]["primitives"]:
            points = _array(document, store, primitive["attributes"]["POSITION"])
            parts.append(points)
            faces.append(_array(document, store, primitive["indices"]).reshape(-1, 3).astype(int) + start)
            start += len(points)
        matrix = np.array(node.get("matrix", np.eye(4).ravel())).reshape(4, 4).T
        placed = np.vstack(parts) @ matrix[:3, :3].T + matrix[:3, 3]
        bodies.append(Body(node["name"], placed @ _FROM_GLTF.T, np.vstack(faces)))
    return tuple(bodies)


def _array(document: Mapping, store: bytes, number: int) -> np.ndarray:
    accessor = document["accessors"][number]
    view = document["bufferViews"][accessor["bufferView"]]
    kind = {5126: "<f4", 5125: "<u4", 5123: "<u2"}[accessor["componentType"]]
    width = {"SCALAR": 1, "VEC3": 3}[accessor["type"]]
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    values = np.frombuffer(store, kind, accessor["count"] * width, start)
    return values.astype(float).reshape(-1, width) if width > 1 else values
