"""The booklet as one web page: no outside request, readable on a phone at the bench, steps to tick off."""

from __future__ import annotations

import base64
import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

from foamwright.assembly.records import Inset, Pictures, Step
from foamwright.booklet.pages.cautions import CAUTIONS
from foamwright.booklet.pages.chapters import Bullets, Chapter, Column, Lead, Table, Views, Warn, Words
from foamwright.booklet.pages.contents import contents
from foamwright.booklet.pages.cover import facts
from foamwright.booklet.pages.qr import qr_code
from foamwright.booklet.pages.step_block import step_facts
from foamwright.booklet.pictures.figures import INSET, lettered_block, picture_block, silhouette
from foamwright.booklet.pictures.lettering import printed_in
from foamwright.booklet.words.numbered import parted
from foamwright.booklet.words.supplies import ready
from foamwright.booklet.words.typeset import ColumnItem
from foamwright.drawing.primitives import Drawing
from foamwright.drawing.svg import svg_bytes
from foamwright.flatten.records import Pattern, Patterns
from foamwright.language import language, say
from foamwright.layout.records import FoamSheet, PackInfo
from foamwright.parts.records import Piece, Prop

if TYPE_CHECKING:  # the solids step is heavy, and only its plain records are read here
    from foamwright.model.figure import Fit
    from foamwright.model.interference import Interference
    from foamwright.model.stability import Balance

_SHAPE = (26.0, 16.0)  # mm of the outline of a part in a list
_CODE = 30.0
_WIDTH, _HEIGHT = 120.0, 86.0  # mm of a drawing, which the page scales to its own width
_STYLE = """
:root{color-scheme:light dark}*{box-sizing:border-box}
body{margin:0 auto;max-width:46rem;padding:0 1rem 4rem;font:1.05rem/1.5 system-ui,sans-serif;color:#1b1b1f;
 background:#fff;overflow-wrap:break-word}
h1{font-size:1.9rem;line-height:1.15;margin:1.2rem 0 .2rem}h2{font-size:1.3rem;margin:2rem 0 .5rem}
h3{font-size:1.1rem;margin:1rem 0 .2rem}p{margin:.4rem 0}ul{padding-left:1.3rem;margin:.4rem 0}
img{display:block;width:100%;height:auto}td img{width:4.5rem}
article{border-top:2px solid #ccc;padding:1rem 0}article h3{margin:0;font-size:1.15rem}article h4{margin:.6rem 0 0}
label{display:flex;gap:.7rem;align-items:center;min-height:2.75rem}input{width:1.5rem;height:1.5rem;flex:none}
nav a{display:inline-block;padding:.45rem .8rem .45rem 0}
.facts{color:#4a4a52;margin:.2rem 0}.caution{background:#fdf6dc;border-left:5px solid #b8860b;padding:.5rem .8rem}
.insets{display:grid;grid-template-columns:repeat(auto-fill,minmax(8.5rem,1fr));gap:.8rem;margin:.6rem 0}
figure{margin:0}figcaption{font-size:.88rem;line-height:1.35}
.turn{list-style:none}.done{opacity:.55}.code{width:9rem}.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-size:.95rem}
td,th{text-align:left;vertical-align:top;padding:.3rem .4rem;border-bottom:1px solid #ddd}
td{overflow-wrap:break-word}.number{text-align:right;white-space:nowrap}
@media(max-width:30rem){table{font-size:.86rem}td,th{padding:.3rem .2rem}td img{width:3rem}.number{white-space:normal}}
@media print{input{display:none}}
@media screen and (prefers-color-scheme:dark){body{color:#e6e6ea;background:#17171b}a{color:#8ab4f8}
 img{background:#fff;border-radius:.3rem}.facts{color:#b0b0b8}.caution{background:#3a3116}
 article,td,th{border-color:#44444c}}
"""
_SCRIPT = """
const key=document.body.dataset.key;let done={};
try{done=JSON.parse(localStorage.getItem(key))||{}}catch(e){}
for(const box of document.querySelectorAll('input[data-step]')){
 const step=box.closest('article');box.checked=!!done[box.dataset.step];step.classList.toggle('done',box.checked);
 box.addEventListener('change',()=>{done[box.dataset.step]=box.checked;step.classList.toggle('done',box.checked);
  try{localStorage.setItem(key,JSON.stringify(done))}catch(e){}});
}
"""


def web_page(
    prop: Prop,
    patterns: Patterns,
    steps: Sequence[Step],
    pictures: Pictures,
    info: PackInfo,
    fit: Fit | None = None,
    interferences: Sequence[Interference] = (),
    balance: Balance | None = None,
    sheets: Sequence[FoamSheet] = (),
) -> bytes:
    """The HTML file (UTF-8), everything in it: pictures are data in the page."""
    pieces = {piece.id: piece for piece in prop.pieces}
    told = contents(prop, patterns, steps, pictures, fit, interferences, balance, sheets)
    size = say("Size {size}", size=info.size) + (f", {info.size_note}" if info.size_note else "")
    finished = say("The finished {name}.", name=info.name)
    titles = [*(c.title for c in (*told.before, *told.making)), say("Assembly"), *(c.title for c in told.after)]
    body = [
        "<header>",
        f"<h1>{escape(info.name)}</h1>",
        f"<p><strong>{escape(size)}</strong></p>",
        f"<p>{escape(prop.design.summary)}</p>",
        *(_image(picture_block(picture, _WIDTH, _HEIGHT), finished) for picture in pictures.finished),
        _table(Table((Column("", 0.3), Column("", 0.7)), tuple(facts(prop, patterns, steps, pictures, balance, fit)))),
        *_code(prop.design.address),
        "</header>",
        "<nav>",
        *(f'<a href="#{_anchor(titles, title)}">{escape(title)}</a>' for title in titles),
        "</nav>",
        "<main>",
        *_apart(pictures),
        *(_chapter(chapter, _anchor(titles, chapter.title)) for chapter in (*told.before, *told.making)),
        f'<h2 id="{_anchor(titles, say("Assembly"))}">{escape(say("Assembly"))}</h2>',
        *(_step(step, pieces, pictures) for step in steps),
        *(_chapter(chapter, _anchor(titles, chapter.title)) for chapter in told.after),
        "</main>",
    ]
    key = escape(f"{prop.design.id} {info.version} {info.size}", quote=True)
    text = (
        f'<!DOCTYPE html>\n<html lang="{language()}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n'
        f"<title>{escape(say('{name}: assembly booklet', name=info.name))}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f'<body data-key="{key}">\n' + "\n".join(body) + f"\n<script>{_SCRIPT}</script>\n</body>\n</html>\n"
    )
    return text.encode("utf-8")


def _anchor(titles: Sequence[str], title: str) -> str:
    return f"chapter-{list(titles).index(title) + 1}"


def _image(block: ColumnItem, alt: str, name: str = "", width: float = _WIDTH) -> str:
    """A drawing `width` mm wide, which the page shows as wide as itself."""
    drawn = svg_bytes(Drawing(block.items), width, block.height, (0.0, -block.height))
    return _data(drawn, alt, name)


def _data(svg: bytes, alt: str, name: str = "") -> str:
    data = base64.b64encode(svg).decode("ascii")
    kind = f' class="{name}"' if name else ""
    return f'<img{kind} alt="{escape(alt, quote=True)}" src="data:image/svg+xml;base64,{data}">'


def _apart(pictures: Pictures) -> Iterable[str]:
    if pictures.apart is not None:
        yield _image(lettered_block(pictures.apart, _WIDTH, 1.4 * _WIDTH), pictures.apart.alt)


def _code(address: str) -> Iterable[str]:
    if address:
        block = qr_code(address, _CODE)
        drawn = svg_bytes(Drawing(block.items), _CODE, _CODE, (0.0, -_CODE))
        yield _data(drawn, say("QR code of the address {address}", address=address), "code")


def _chapter(chapter: Chapter, anchor: str) -> str:
    lines = [f'<section><h2 id="{anchor}">{escape(chapter.title)}</h2>']
    for item in chapter.items:
        match item:
            case Words():
                lines += [f"<h3>{escape(item.heading)}</h3>"] if item.heading else []
                lines.append(f"<p>{escape(item.text)}</p>")
            case Bullets():
                lines += [f"<h3>{escape(item.heading)}</h3>"] if item.heading else []
                lines.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in item.lines) + "</ul>")
            case Warn():
                lines.append(f'<p class="caution"><strong>{escape(item.title)}.</strong> {escape(item.text)}</p>')
            case Table():
                lines.append(_table(item))
            case Views():
                lines += [_image(picture_block(p, _WIDTH, _HEIGHT), p.alt or item.caption) for p in item.pictures]
                lines.append(f"<p>{escape(item.caption)}</p>")
            case Lead():
                address = escape(item.address, quote=True)
                lines.append(f'<p>{escape(item.text)} <a href="{address}" rel="noopener">{address}</a></p>')
    return "\n".join([*lines, "</section>"])


def _table(table: Table) -> str:
    kinds = [' class="number"' if column.number else "" for column in table.columns]
    lines = ['<div class="wide"><table>']
    if table.columns[0].title:
        titles = zip(kinds, table.columns)
        lines.append("<tr>" + "".join(f"<th{kind}>{escape(c.title)}</th>" for kind, c in titles) + "</tr>")
    for number, row in enumerate(table.rows):
        anchor = f' id="part-{escape(str(row[0]))}"' if number < len(table.parts) else ""
        cells = "".join(f"<td{kind}>{_cell(cell, row)}</td>" for kind, cell in zip(kinds, row))
        lines.append(f"<tr{anchor}>{cells}</tr>")
    return "".join([*lines, "</table></div>"])


def _cell(cell: str | Pattern, row: Sequence[str | Pattern]) -> str:
    if isinstance(cell, str):
        return escape(cell).replace("/", "/<wbr>")
    block = silhouette(cell, *_SHAPE)
    drawn = svg_bytes(Drawing(block.items), _SHAPE[0], block.height, (0.0, -block.height))
    return _data(drawn, say("The shape of part {label}.", label=cell.piece.label))


def _step(step: Step, pieces: Mapping[str, Piece], pictures: Pictures) -> str:
    picture, insets = pictures.steps.get(step.number), pictures.insets.get(step.number, ())
    letters = " ".join(
        f'<a href="#part-{escape(pieces[part].label)}">{escape(pieces[part].label)}</a>'
        for part in (step.places or step.bench)
        if part in pieces
    )
    lines = [
        f'<article id="step-{step.number}"><label><input type="checkbox" data-step="{step.number}">'
        f"<h3>{step.number}. {escape(step.title)}</h3></label>",
        f'<p class="facts">{escape("; ".join(step_facts(step)))}{f" &middot; {letters}" if letters else ""}</p>',
    ]
    if extra := ready(step):
        lines.append(f'<p class="facts">{escape(say("Have ready: {things}.", things="; ".join(extra)))}</p>')
    lines += [
        f'<p class="caution"><strong>{escape(say(CAUTIONS[key].title))}:</strong> {escape(say(CAUTIONS[key].brief))}</p>'
        for key in step.cautions
    ]
    if picture is not None:
        x0, y0, x1, y1 = picture.bounds
        wide, high = printed_in(x1 - x0, y1 - y0).tolist()
        lines.append(
            _image(lettered_block(replace(picture, note=""), wide, high), picture.alt or step.title, width=wide)
        )
        lines += [f"<p><strong>{escape(picture.note)}</strong></p>"] if picture.note else []
    if insets:
        lines.append(f'<div class="insets">{"".join(map(_figure, insets))}</div>')
    firsts = sorted({0, *step.heads, len(step.instructions)})
    for first, end in itertools.pairwise(firsts):
        lines += [f"<h4>{escape(step.heads[first])}</h4>"] if first in step.heads else []
        lines.append("<ul>" + "".join(map(_bullet, step.instructions[first:end])) + "</ul>")
    return "\n".join([*lines, "</article>"])


def _figure(inset: Inset) -> str:
    """A small drawing with its words, which a screen reader has from the drawing."""
    drawn = _image(ColumnItem(inset.height, inset.items), inset.said, width=INSET[0])
    return f'<figure>{drawn}<figcaption aria-hidden="true">{escape(inset.said)}</figcaption></figure>'


def _bullet(sentence: str) -> str:
    """A sentence of a step: one with a number of its own has no dot."""
    return f'<li class="turn">{escape(sentence)}</li>' if parted(sentence)[0] else f"<li>{escape(sentence)}</li>"
