"""`booklet.pdf` and `booklet.html`: how the prop is put together, step by step, on paper and on a screen."""

from __future__ import annotations

from collections.abc import Sequence

from foamwright.booklet.records import Pictures, Step
from foamwright.booklet.web import web_page
from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.language import spoken
from foamwright.layout.records import PackInfo
from foamwright.outputs.records import Files, Output
from foamwright.parts.records import Prop


@spoken
def files(booklet_pages: Document, prop: Prop, steps: Sequence[Step], pictures: Pictures, info: PackInfo) -> Files:
    return {"booklet.pdf": pdf_bytes(booklet_pages), "booklet.html": web_page(prop, steps, pictures, info)}


OUTPUT = Output(
    "booklet",
    "the assembly booklet with pictures of the steps, for paper and as a web page",
    files,
    pages={"booklet.pdf": "booklet_pages"},
)
