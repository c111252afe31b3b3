"""`booklet.pdf` and `booklet.html`: how the prop is put together, step by step, on paper and on a screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from foamwright.assembly.records import Pictures, Step
from foamwright.booklet.pages.web import web_page
from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.flatten.records import Patterns
from foamwright.language import spoken
from foamwright.layout.records import FoamSheet, PackInfo
from foamwright.outputs.records import Files, Output
from foamwright.parts.records import Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance


@spoken
def files(
    booklet_pages: Document,
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    info: PackInfo,
    fit: Fit | None,
    interferences: Sequence[Interference],
    balance: Balance | None,
    sheets: Sequence[FoamSheet],
) -> Files:
    page = web_page(prop, patterns, steps, pictures, info, fit, interferences, balance, sheets)
    return {"booklet.pdf": pdf_bytes(booklet_pages), "booklet.html": page}


OUTPUT = Output(
    "booklet",
    "the assembly booklet with pictures of the steps, for paper and as a web page",
    files,
    pages={"booklet.pdf": "booklet_pages"},
)
