"""Drawings as DXF (release R2010), in mm, one DXF layer per layer."""

from __future__ import annotations

import hashlib
import io
import os
from collections import Counter
from contextlib import contextmanager

import numpy as np

from foamwright.drawing.fonts import check_glyphs
from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.primitives import LAYERS, Drawing, Hatch, Path, Text, Tick
from foamwright.drawing.style import STYLES
from foamwright.loading import without_settings

# else it looks through the fonts of the machine, writes down what it found, and says so where it cannot
with without_settings(XDG_CACHE_HOME=os.path.join(os.path.dirname(__file__), "no_fonts")):
    import ezdxf
    from ezdxf.enums import TextEntityAlignment

_CAP_HEIGHT = 0.729  # of DejaVu Sans: DXF states the height of capitals, primitives the font size
_ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def dxf_bytes(drawing: Drawing) -> bytes:
    """DXF file of `drawing` in its own coordinates; outlines as LWPOLYLINE, texts as TEXT, no fills.

    Raises BuildError for a text that the embedded faces cannot draw.
    """
    with _fixed_metadata():
        document = ezdxf.new("R2010", units=ezdxf.units.MM)
        _fill(document, drawing)
        _name_by_content(document)
        for name in sorted(document.entitydb.dxf_types_in_use()):  # else in the order of a set
            document.classes.add_class(name)
        stream = io.StringIO()
        document.write(stream)
        return document.encode(stream.getvalue())


@contextmanager
def _fixed_metadata():
    """Keep ezdxf from writing the time and random identifiers while the file is made."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _fill(document, drawing: Drawing) -> None:
    document.header["$MEASUREMENT"] = 1  # metric line types
    for name, font in (("REGULAR", "DejaVuSans.ttf"), ("BOLD", "DejaVuSans-Bold.ttf")):
        document.styles.add(name, font=font)
    used = {item.layer for item in drawing.flat}
    for layer, style in STYLES.items():
        if layer in used:
            _add_layer(document, layer, style)
    space = document.modelspace()
    for item in drawing.flat:
        where = {"layer": item.layer}
        match item:
            case Path():
                points = _rounded(item.points).tolist()
                space.add_lwpolyline(points, close=item.closed, dxfattribs=where)
            case Tick():
                space.add_line(_rounded(item.start), _rounded(item.end), dxfattribs=where)
            case Hatch():
                for start, end in _rounded(hatch_strokes(item)).tolist():
                    space.add_line(start, end, dxfattribs=where)
            case Text():
                check_glyphs(item.value, item.bold)
                face = {"style": "BOLD" if item.bold else "REGULAR", "rotation": round(item.angle, 4)}
                text = space.add_text(item.value, height=item.height * _CAP_HEIGHT, dxfattribs=where | face)
                text.set_placement(_rounded(item.at), align=_ALIGN[item.anchor])


def _name_by_content(document) -> None:
    """Handles that follow from what an entity is, so that a changed line changes no other. DXF asks that each is once
    in the file and below $HANDSEED, which ezdxf sets above what it has given out."""
    alike: Counter[bytes] = Counter()
    for entity in document.modelspace():
        told = {k: v for k, v in entity.dxfattribs().items() if k not in ("handle", "owner")}
        points = entity.get_points() if entity.dxftype() == "LWPOLYLINE" else ()
        said = repr((entity.dxftype(), sorted(told.items()), list(points))).encode()
        number = 0
        while True:
            handle = hashlib.blake2b(said + b" %d %d" % (alike[said], number), digest_size=6).hexdigest().upper()
            if document.entitydb.reset_handle(entity, f"1{handle}"):  # above those that ezdxf counts out
                break
            number += 1
        alike[said] += 1
    document.entitydb.handles.reset("2000000000000")


def _rounded(points) -> np.ndarray:
    """To 0.0001 mm, so that what processors calculate differently far below that does not show."""
    return np.round(np.asarray(points, float), 4)


def _add_layer(document, layer: str, style) -> None:
    line_type = "CONTINUOUS"
    if style.dashes:
        line_type = layer.upper()
        signed = [d if i % 2 == 0 else -d for i, d in enumerate(style.dashes)]
        document.linetypes.add(line_type, [sum(style.dashes), *signed], description=style.line_type)
    entry = document.layers.add(layer, linetype=line_type, lineweight=round(style.width * 100))
    entry.rgb = tuple(int(style.colour[i : i + 2], 16) for i in (1, 3, 5))
    entry.description = LAYERS[layer]
