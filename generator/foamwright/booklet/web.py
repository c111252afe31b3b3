"""The booklet as one web page: no outside request, readable on a phone at the bench, steps to tick off."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from html import escape

from foamwright.booklet.cautions import CAUTIONS
from foamwright.booklet.figures import lettered_block, picture_block
from foamwright.booklet.records import Picture, Pictures, Step
from foamwright.booklet.schedule import schedule
from foamwright.booklet.supplies import SUPPLIES, named
from foamwright.booklet.typeset import Block
from foamwright.drawing.primitives import Drawing
from foamwright.drawing.svg import svg_bytes
from foamwright.language import duration, listed, say
from foamwright.layout.records import PackInfo
from foamwright.parts.records import Piece, Prop

_WIDTH, _HEIGHT = 120.0, 86.0  # mm of a drawing, which the page scales to its own width
_STYLE = """
:root{color-scheme:light}*{box-sizing:border-box}
body{margin:0 auto;max-width:46rem;padding:0 1rem 4rem;font:1.05rem/1.5
system-ui,sans-serif;
 color:#1b1b1f;background:#fff}
h1{font-size:1.9rem;line-height:1.15;margin:1.2rem 0 .2rem}h2{font-size:1.3rem;margin:2rem 0 .5rem}
img{display:block;width:100%;height:auto}
article{border-top:2px solid #ccc;padding:1rem 0}article h3{margin:0;font-size:1.15rem}
label{display:flex;gap:.7rem;align-items:center;min-height:2.75rem}input{width:1.5rem;height:1.5rem;flex:none}
.facts{color:#4a4a52;margin:.2rem 0}.caution{background:#fdf6dc;border-left:5px solid #b8860b;padding:.5rem .8rem}
.done{opacity:.55}table{border-collapse:collapse;width:100%}
td,th{text-align:left;padding:.3rem
.4rem;border-bottom:1px solid #ddd} @media print{input{display:none}}
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


def web_page(prop: Prop, steps: Sequence[Step], pictures: Pictures, info: PackInfo) -> bytes:
    """The HTML file (UTF-8), everything in it: pictures are data in the page."""
    pieces = {piece.id: piece for piece in prop.pieces}
    plan = schedule(steps)
    size = say("Size {size}", size=info.size) + (f", {info.size_note}" if info.size_note else "")
    work = say(
        "{n} steps, about {work} with your hands; {whole} from start to end with all drying.",
        n=len(steps),
        work=duration(plan.hands_on),
        whole=duration(plan.shortest),
    )
    body = [
        f"<h1>{escape(info.name)}</h1>",
        f"<p><strong>{escape(size)}</strong></p>",
        f"<p>{escape(prop.design.summary)}</p>",
        *(
            _image(picture_block(picture, _WIDTH, _HEIGHT), say("The finished {name}.", name=info.name))
            for picture in pictures.finished
        ),
        f"<p>{escape(work)}</p>",
        f"<p>{escape(say('Version {version}, {licence}', version=info.version, licence=info.licence))}</p>",
        *_safety(steps),
        *_supplies(steps),
        *_parts(prop.pieces),
        f"<h2>{escape(say('Steps'))}</h2>",
        *(_step(step, pieces, pictures.steps.get(step.number)) for step in steps),
    ]
    key = escape(f"{prop.design.id} {info.version} {info.size}", quote=True)
    text = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(info.name)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f'<body data-key="{key}">\n' + "\n".join(body) + f"\n<script>{_SCRIPT}</script>\n</body>\n</html>\n"
    )
    return text.encode("utf-8")


def _image(block: Block, alt: str) -> str:
    drawn = svg_bytes(Drawing(block.items), _WIDTH, block.height, (0.0, -block.height))
    data = base64.b64encode(drawn).decode("ascii")
    return f'<img alt="{escape(alt, quote=True)}" src="data:image/svg+xml;base64,{data}">'


def _safety(steps: Sequence[Step]) -> Iterable[str]:
    called = {key for step in steps for key in step.cautions}
    yield f"<h2>{escape(say('Safety'))}</h2>"
    for key, caution in CAUTIONS.items():
        if key in called:
            yield f'<p class="caution"><strong>{escape(caution.title)}.</strong> {escape(caution.full)}</p>'


def _supplies(steps: Sequence[Step]) -> Iterable[str]:
    used = {key for step in steps for key in step.uses}
    yield f"<h2>{escape(say('Tools and supplies'))}</h2><ul>"
    yield from (f"<li>{escape(named(key))}</li>" for key in SUPPLIES if key in used)
    yield "</ul>"


def _parts(pieces: Sequence[Piece]) -> Iterable[str]:
    yield f"<h2>{escape(say('Parts'))}</h2><table><tr>"
    yield "".join(f"<th>{escape(title)}</th>" for title in (say("Letter"), say("Name"), say("Foam"), say("Cut")))
    yield "</tr>"
    for piece in pieces:
        cells = (piece.label, piece.name, piece.stock.name, str(piece.quantity))
        yield f'<tr id="part-{escape(piece.label)}">' + "".join(f"<td>{escape(cell)}</td>" for cell in cells) + "</tr>"
    yield "</table>"


def _step(step: Step, pieces: Mapping[str, Piece], picture: Picture | None) -> str:
    facts = [say("Hands on: about {time}", time=duration(step.minutes))]
    if step.wait:
        facts.append(say("then wait {time}", time=duration(step.wait)))
    if step.waits_for:
        facts.append(say("after step {steps}", steps=listed([str(n) for n in step.waits_for])))
    letters = " ".join(
        f'<a href="#part-{escape(pieces[part].label)}">{escape(pieces[part].label)}</a>'
        for part in (step.places or step.bench)
    )
    lines = [
        f'<article id="step-{step.number}"><label><input type="checkbox" data-step="{step.number}">'
        f"<h3>{step.number}. {escape(step.title)}</h3></label>",
        f'<p class="facts">{escape("; ".join(facts))}{f" &middot; {letters}" if letters else ""}</p>',
    ]
    if picture is not None:
        lines.append(_image(lettered_block(picture, _WIDTH, _HEIGHT), picture.alt or step.title))
    lines.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in step.instructions) + "</ul>")
    if step.uses:
        lines.append(
            f'<p class="facts">{escape(say("You need: {things}.", things="; ".join(map(named, step.uses))))}</p>'
        )
    lines += [
        f'<p class="caution"><strong>{escape(CAUTIONS[key].title)}:</strong> {escape(CAUTIONS[key].brief)}</p>'
        for key in step.cautions
    ]
    return "\n".join([*lines, "</article>"])
