"""Pages of drawings that make one printed document. Lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass

from foamwright.drawing.primitives import Drawing


@dataclass(frozen=True)
class Place:
    """Where a reader may jump to: `top` in mm above the lower edge of the page. With a `title` it has a bookmark."""

    name: str
    top: float
    title: str = ""
    level: int = 0  # of the bookmark: 0 a chapter, 1 what stands in it


@dataclass(frozen=True)
class Page:
    """One page: `drawing` in page coordinates, origin at the lower left corner of the paper."""

    number: int
    width: float
    height: float
    title: str  # for the bookmark
    parts: tuple[str, ...]  # ids of the parts on it
    row: int | None  # of a part that runs over several pages, counted from 1
    column: int | None
    drawing: Drawing
    # (x0, y0, x1, y1) of what it shows of such a part; neighbours share foamwright.layout.tiling.OVERLAP of it
    window: tuple[float, float, float, float] | None = None
    places: tuple[Place, ...] = ()  # from top to bottom


@dataclass(frozen=True)
class Document:
    """Pages that make one PDF file."""

    title: str
    subject: str
    paper: str
    pages: tuple[Page, ...]
    author: str = ""
    language: str = "en"  # a tag of BCP 47
