"""The written files of a pack compared with each other: record, templates, cutting files, pages, lists and models.

All must say the same.

It is done at the end of every build, from the bytes alone, so that no writer can go wrong unseen.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from foamwright.errors import BuildError
from foamwright.language import LANGUAGES, Reader, reading, say
from foamwright.proof.bench.foam import between
from foamwright.proof.read import (
    Body,
    Drawn,
    dxf,
    glb,
    pdf_leaves,
    pdf_pages,
    short_lines,
    step_names,
    svg,
    without_blanks,
)

MODEL = "model/prop.glb"
SOLIDS = "model/prop.step"
TEMPLATES = "templates.pdf"
BOOKLET, SHEETS = "booklet.pdf", "sheets.pdf"
_LINE = 0.02  # mm2 of area for each mm of a line: files are written to the micrometre and to 4 decimals
_FLAT, _BENT = 0.005, 0.04  # of the volume, of flat parts and of those that are bent and strained
_PAPER = 0.5  # mm
_CORNERS = 25.0  # times the kerf squared: what a line moved outwards gains at sharp corners
_EVEN = 1.0  # mm between the places of a line from which the other face's is sought
_ROUND = ("rod",)  # kinds whose solid is not what its sheet was
_BENT_KINDS = ("panel", "cover", "band", "gusset")


def refuse_differences(files: Mapping[str, bytes], record: Mapping[str, Any]) -> None:
    """BuildError naming the first difference between the files of a pack, and how many more there are.

    What is not among the files is not looked at, so that a partial pack can be compared as well.
    """
    faults = differences(files, record)
    if faults:
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        raise BuildError(f"the files of the pack differ: {faults[0]}{more}")


def differences(files: Mapping[str, bytes], record: Mapping[str, Any]) -> list[str]:
    """Every difference, one line each."""
    parts = record.get("parts", ())
    faults = []
    for part in parts:
        faults += _templates(part, files)
    if TEMPLATES in files and "pages" in record:
        faults += _paper(files[TEMPLATES], record)
    if "pages" in record:
        faults += _leaves(files, record)
    if MODEL in files:
        faults += _bodies(glb(files[MODEL]), parts)
    if SOLIDS in files and "parts" in record:
        faults += _placed(files[SOLIDS], parts)
    faults += _machine(files, record)
    return faults


def _templates(part: Mapping[str, Any], files: Mapping[str, bytes]) -> list[str]:
    """One part's drawings, those of its segments together where it is cut from several."""
    stem = re.compile(rf"templates/{re.escape(part['label'])}\d*-{re.escape(part['id'].replace('_', '-'))}\.(svg|dxf)$")
    paths = [path for path in files if stem.match(path)]
    drawn = {
        "SVG": {path: svg(files[path]) for path in paths if path.endswith(".svg")},
        "DXF": {path: dxf(files[path]) for path in paths if path.endswith(".dxf")},
    }
    faults = []
    if drawn["SVG"].keys() != {path.removesuffix("dxf") + "svg" for path in drawn["DXF"]}:
        faults.append(f"part {part['id']}: a template is there as SVG or as DXF only")
    segments = part["split"]["segments"] if "split" in part else [part]
    for kind, sheets in drawn.items():
        if not sheets:
            continue
        if len(sheets) != len(segments):
            faults.append(f"part {part['id']}: {len(sheets)} {kind} templates, but {len(segments)} pieces of foam")
            continue
        for segment, (path, sheet) in zip(segments, sorted(sheets.items(), key=lambda item: _natural(item[0]))):
            faults += [f"{path}: {fault}" for fault in _lines(segment, sheet)]
            faults += [f"{path}: {fault}" for fault in _words(part, sheet)]
    return faults


def _natural(path: str) -> tuple[int, str]:
    number = re.search(r"(\d*)-", path.rsplit("/", 1)[-1])
    return (int(number[1]) if number and number[1] else 0), path


def _lines(segment: Mapping[str, Any], sheet: Drawn) -> list[str]:
    outlines = sheet.rings.get("cut", ())
    if len(outlines) != 1:
        return [f"{len(outlines)} cut lines in place of one"]
    faults = _same_ring("the cut line", segment["outline"], outlines[0])
    holes = list(sheet.rings.get("cut-inner", ()))
    for number, hole in enumerate(segment["holes"], 1):
        twin = next((ring for ring in holes if not _same_ring("", hole, ring)), None)
        if twin is None:
            faults.append(f"no line is hole {number}, of {abs(_area(hole)):.1f} mm2")
        else:
            holes = [ring for ring in holes if ring is not twin]
    return faults


def _same_ring(what: str, stated: Sequence[Sequence[float]], drawn: np.ndarray) -> list[str]:
    """Length, area and extent; the two may begin anywhere and lie anywhere."""
    length, other = _length(stated), _length(drawn)
    if abs(length - other) > 0.002 * len(drawn) + 0.01:
        return [f"{what} is {other:.2f} mm long, but {length:.2f} mm in the record"]
    area, other_area = abs(_area(stated)), abs(_area(drawn))
    if abs(area - other_area) > _LINE * length:
        return [f"{what} bounds {other_area:.1f} mm2, but {area:.1f} mm2 in the record"]
    if np.abs(np.ptp(np.asarray(stated), axis=0) - np.ptp(drawn, axis=0)).max() > 0.01:
        return [f"{what} is not as wide and high as in the record"]
    return []


def _cut_words() -> list[str]:
    """How many to cut, as each language says it."""
    found = []
    for language in LANGUAGES:
        with reading(Reader(language)):
            found.append(rf"\b{re.escape(say('cut {n}', n='NUMBER')).replace('NUMBER', '([0-9]+)')}\b")
    return found


def _words(part: Mapping[str, Any], sheet: Drawn) -> list[str]:
    """The label stands by itself or before the number of a segment, and how many to cut is said."""
    faults = []
    if not any(re.fullmatch(rf"{re.escape(part['label'])}\d*", text.strip()) for text in sheet.texts):
        faults.append(f"the label {part['label']} is not on it")
    counts = [int(n) for text in sheet.texts for words in _cut_words() for n in re.findall(words, text)]
    if part["quantity"] not in counts:
        faults.append(f"it says cut {counts}, but {part['quantity']} are needed")
    return faults


def _paper(data: bytes, record: Mapping[str, Any]) -> list[str]:
    pages = [page for page in record["pages"] if page["file"] == TEMPLATES]
    written = pdf_pages(data)
    if len(pages) != len(written):
        return [f"{TEMPLATES}: {len(written)} pages, but {len(pages)} in the record"]
    labels = {part["id"]: part["label"] for part in record["parts"]}
    faults = []
    for number, (page, (width, height, text)) in enumerate(zip(pages, written), 1):
        if max(width, height) > 0 and written[0][:2] != (width, height) and page["paper"] == pages[0]["paper"]:
            same = sorted((width, height)) == sorted(written[0][:2])
            if not same and abs(sum(written[0][:2]) - width - height) > _PAPER:
                faults.append(f"{TEMPLATES}: page {number} is {width:.1f} x {height:.1f} mm, unlike the first")
        missing = [labels[p] for p in page["parts"] if p in labels and labels[p] not in text]
        if missing:
            faults.append(f"{TEMPLATES}: page {number} does not name {', '.join(missing)}")
    return faults


def _leaves(files: Mapping[str, bytes], record: Mapping[str, Any]) -> list[str]:
    """As many pages as are recorded, and each part's letter by itself on one that is said to have it."""
    laid = {placed["part"] for sheet in record.get("sheets", ()) for placed in sheet["placed"]}
    labels = {part["id"]: part["label"] for part in record.get("parts", ())}
    meant = {BOOKLET: set(labels), SHEETS: laid & set(labels)}
    faults = []
    for file in dict.fromkeys(page["file"] for page in record["pages"]):
        if file not in files or file == TEMPLATES:
            continue
        pages = [page for page in record["pages"] if page["file"] == file]
        leaves = pdf_leaves(files[file])
        if len(leaves) != len(pages):
            faults.append(f"{file}: {len(leaves)} pages, but {len(pages)} in the record")
            continue
        missing = dict.fromkeys(part for part in labels if part in meant.get(file, ()))
        # the lists of parts come first that way, so that few pages are read
        for number in sorted(range(len(pages)), key=lambda n: -len(pages[n]["parts"])):
            wanted = [part for part in pages[number]["parts"] if part in missing]
            if not wanted:
                continue
            lines = short_lines(leaves[number])
            for part in wanted:
                if any(re.fullmatch(rf"{re.escape(labels[part])}\d*", line) for line in lines):
                    del missing[part]
        if missing:
            faults.append(f"{file}: nothing on it is {', '.join(labels[part] for part in missing)}")
    return faults


def _placed(data: bytes, parts: Sequence[Mapping[str, Any]]) -> list[str]:
    """One solid for each part and each mirror image that stands, and each copy by its name."""
    solids, names = step_names(data)
    kinds, copies = 0, []
    for part in parts:
        count = (part["quantity"] - part.get("loose", 0)) // part.get("layers", 1)
        images = set(part.get("mirror_images", ()))
        kinds += len({number in images for number in range(1, count + 1)})
        copies += [without_blanks(f"{part['label']} {part['name']} ({number})") for number in range(1, count + 1)]
    faults = []
    if solids != kinds:
        faults.append(f"{SOLIDS}: {solids} solids, but {kinds} parts and mirror images stand in the prop")
    if sorted(names) != sorted(copies):
        odd = sorted({*names} ^ {*copies})
        faults.append(
            f"{SOLIDS}: {len(names)} copies, but {len(copies)} in the record{': ' * bool(odd)}{', '.join(odd[:3])}"
        )
    return faults


def _machine(files: Mapping[str, bytes], record: Mapping[str, Any]) -> list[str]:
    """Cutting files: the larger face, moved by half the kerf."""
    kerfs = {stock["id"]: stock["kerf"] for stock in record.get("materials", ()) if "kerf" in stock}
    faults = []
    for part in record.get("parts", ()):
        stem = f"machine/{part['label']}-{part['id'].replace('_', '-')}"
        for hand in ("", "-mirrored"):
            path = f"{stem}{hand}.dxf"
            if path not in files:
                continue
            if part["material"] not in kerfs:
                faults.append(f"{path}: its foam is cut by hand")
                continue
            faults += [f"{path}: {fault}" for fault in _cut(part, kerfs[part["material"]], dxf(files[path]))]
    return faults


def _cut(part: Mapping[str, Any], kerf: float, sheet: Drawn) -> list[str]:
    """Area of what is cut out, by Steiner's formula: that of the lines, and half the kerf for each mm of them."""
    faces = [(part["outline"], part["holes"]), (part["other_outline"], part["other_holes"])]
    lines = shapely.union_all([shapely.Polygon(outline, holes).buffer(0.0) for outline, holes in faces])
    meant = lines.area + lines.length * kerf / 2.0
    drawn = [abs(_area(ring)) for ring in sheet.rings.get("cut", ())]
    inner = [abs(_area(ring)) for ring in sheet.rings.get("cut-inner", ())]
    faults = []
    if (len(drawn), len(inner)) != (1, len(part["holes"])):
        faults.append(f"{len(drawn)} cut lines and {len(inner)} holes, but 1 and {len(part['holes'])} in the record")
    elif abs(drawn[0] - sum(inner) - meant) > _LINE * lines.length + kerf**2 * _CORNERS:
        faults.append(f"it cuts out {drawn[0] - sum(inner):.1f} mm2, but the record comes to {meant:.1f} mm2")
    stated = [abs(_area(ring)) for ring in part.get("engraving", ())]
    engraved = [abs(_area(ring)) for ring in sheet.rings.get("engrave", ())]
    if len(stated) != len(engraved) or abs(sum(stated) - sum(engraved)) > _LINE * sum(
        map(_length, part.get("engraving", ()))
    ):
        faults.append(f"{len(engraved)} engraved lines round {sum(engraved):.1f} mm2, unlike the record")
    return faults


def _bodies(bodies: Sequence[Body], parts: Sequence[Mapping[str, Any]]) -> list[str]:
    """As many copies as are cut, each of as much foam as its lines bound."""
    faults = []
    for part in parts:
        named = re.compile(rf"{re.escape(part['label'])} {re.escape(part['name'])} \(\d+\)$")
        own = [body for body in bodies if named.match(body.name)]
        standing = part["quantity"] - part.get("loose", 0)
        layers = standing // len(own) if own else 1
        if (standing > 0) != bool(own) or (own and standing % len(own)):
            faults.append(f"{MODEL}: {len(own)} copies of {part['id']}, but {standing} are cut")
        if not own or part["kind"] in _ROUND:
            continue
        foam = _foam(part) * layers
        share = _BENT if part["kind"] in _BENT_KINDS or part["darts"] else _FLAT
        worst = max(own, key=lambda body: abs(body.volume - foam))
        spare = 0.1 * foam if part["kind"] == "band" else 0.0  # what is left on to be trimmed
        if not -share * foam - spare <= worst.volume - foam <= share * foam:
            faults.append(
                f"{MODEL}: {worst.name} has {worst.volume:.0f} mm3, but its template bounds {foam:.0f} mm3 of foam"
            )
    return faults


def _foam(part: Mapping[str, Any]) -> float:
    """Volume between the lines of both faces, of all pieces together where they are mitred, without what is cut out of
    grooves. The lines are joined straight: Simpson's rule is exact for that."""
    mitred = "split" in part and part["split"]["joint"] == "mitre"
    pieces = part["split"]["segments"] if mitred else [part]
    grooves = sum(math.tan(math.radians(abs(fold["turn"]) / 2.0)) for fold in part.get("folds", ()))
    width = float(np.ptp(np.asarray(part["outline"], float)[:, 1]))
    thickness = float(part["thickness"])
    return sum(mean_area(piece) for piece in pieces) * thickness - grooves * thickness**2 * width


def mean_area(piece: Mapping[str, Any]) -> float:
    """Mean area of a piece of foam over its thickness."""
    total = 0.0
    pairs = [(piece["outline"], piece["other_outline"], 1.0)]
    pairs += [(hole, other, -1.0) for hole, other in zip(piece["holes"], piece["other_holes"])]
    for ring, other, sign in pairs:
        a, b = np.asarray(ring, float), np.asarray(other, float)
        middle = _between(a, b)
        total += sign * (abs(_area(a)) + 4.0 * middle + abs(_area(b))) / 6.0
    return total


def _between(a: np.ndarray, b: np.ndarray) -> float:
    """Area halfway from one face's line to the other's, which may begin elsewhere and run the other way: from corner to corner,
    since across a narrow strip the other line's far side may be the nearer one."""
    b = b if _area(a) * _area(b) > 0.0 else b[::-1]
    if a.shape != b.shape:
        small, large = sorted((a, b), key=lambda ring: abs(_area(ring)))
        large = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(large), _EVEN))[:-1]
        return abs(_area(between(large, small, 0.5)))
    b = np.roll(b, -int(np.linalg.norm(b - a[0], axis=1).argmin()), axis=0)
    return abs(_area((a + b) / 2.0))


def _length(ring: Sequence[Sequence[float]] | np.ndarray) -> float:
    points = np.asarray(ring, float)
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def _area(ring: Sequence[Sequence[float]] | np.ndarray) -> float:
    x, y = np.asarray(ring, float).T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2.0)
