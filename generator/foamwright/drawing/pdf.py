"""Documents as PDF: true size, text that can be selected, embedded fonts, a bookmark and a label per page."""

from __future__ import annotations

import io

import numpy as np

from foamwright.drawing.document import Document
from foamwright.drawing.fonts import check_glyphs, face, face_name
from foamwright.drawing.hatch import hatch_strokes
from foamwright.drawing.metrics import text_box
from foamwright.drawing.primitives import Drawing, Hatch, Path, Shading, Text, Tick
from foamwright.drawing.style import STYLES, stroke_colour
from foamwright.loading import without_settings

with without_settings():
    from reportlab import rl_config
    from reportlab.lib.colors import HexColor
    from reportlab.lib.units import mm
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfgen.canvas import Canvas

rl_config.useA85 = 0  # streams as they are: no letters for bytes, which take a quarter more room and time


def pdf_bytes(document: Document) -> bytes:
    """The PDF file of `document`; it asks the viewer to print without scaling, one side, on the page's paper.

    Items are drawn in their own order. Raises BuildError for a text that the embedded faces cannot draw.
    """
    for bold in (False, True):
        pdfmetrics.registerFont(face(bold))
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1, initialFontName=face_name(False), lang=document.language)
    canvas.setTitle(document.title)
    canvas.setSubject(document.subject)
    canvas.setAuthor(document.author)
    canvas.setCreator("Foamwright")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("Duplex", "Simplex")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.showOutline()
    known = {place.name for page in document.pages for place in page.places}
    for index, page in enumerate(document.pages):
        canvas.setPageSize((page.width * mm, page.height * mm))
        key = f"page-{page.number}"
        canvas.bookmarkPage(key)
        for place in page.places:
            canvas.bookmarkHorizontal(place.name, 0, place.top * mm)
            if place.title:
                canvas.addOutlineEntry(place.title, place.name, level=place.level)
        if not any(place.title for other in document.pages for place in other.places):
            canvas.addOutlineEntry(f"{page.number}  {page.title}", key, level=0)
        canvas.addPageLabel(index, style="ARABIC", start=page.number)
        _draw(canvas, page.drawing)
        _links(canvas, page.drawing, known)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _draw(canvas: Canvas, drawing: Drawing) -> None:
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    layer = None
    for item in drawing.flat:
        if item.layer != layer:
            layer = item.layer
            _set_line(canvas, layer)
        match item:
            case Shading():
                box = [value * mm for value in (*item.at, item.width, item.height)]
                canvas.drawImage(ImageReader(io.BytesIO(item.png)), *box)
            case Path():
                _path(canvas, item)
            case Tick():
                _lines(canvas, np.array([[item.start, item.end]], float))
            case Hatch():
                _lines(canvas, hatch_strokes(item))
            case Text():
                _text(canvas, item)


def _links(canvas: Canvas, drawing: Drawing, known: set[str]) -> None:
    """A text that names a place of the document leads there."""
    for item in drawing.flat:
        if isinstance(item, Text) and item.link in known:
            box = text_box(item)
            canvas.linkRect("", item.link, (*(box.min(axis=0) * mm), *(box.max(axis=0) * mm)), relative=0, thickness=0)


def _set_line(canvas: Canvas, layer: str) -> None:
    style = STYLES[layer]
    canvas.setLineWidth(style.width * mm)
    canvas.setStrokeColor(HexColor(style.colour))
    canvas.setDash([d * mm for d in style.dashes], 0)


def _path(canvas: Canvas, item: Path) -> None:
    points = (np.asarray(item.points, float) * mm).tolist()  # Python's own numbers are written in half the time
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if item.closed:
        path.close()
    canvas.saveState()
    canvas.setStrokeColor(HexColor(stroke_colour(item.layer, item.fill)))
    if item.fill:
        canvas.setFillColor(HexColor(item.fill))
    canvas.drawPath(path, stroke=1, fill=1 if item.fill else 0, fillMode=0)
    canvas.restoreState()


def _lines(canvas: Canvas, strokes: np.ndarray) -> None:
    if len(strokes):
        canvas.lines((strokes.reshape(-1, 4) * mm).tolist())


def _text(canvas: Canvas, item: Text) -> None:
    check_glyphs(item.value, item.bold)
    canvas.saveState()
    canvas.setFillColor(HexColor(STYLES[item.layer].colour))
    canvas.setFont(face_name(item.bold), item.height * mm)
    canvas.translate(item.at[0] * mm, item.at[1] * mm)
    if item.angle:
        canvas.rotate(item.angle)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    draw[item.anchor](0, 0, item.value)
    canvas.restoreState()
