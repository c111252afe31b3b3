"""The pages of the site, set with Jinja: every value is escaped, a name that is not given is an error."""

from __future__ import annotations

import math
import shlex
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from foamwright.booklet.pages.cautions import CAUTIONS, JOINING_PAGES, LAST_WORD, PRINTING
from foamwright.gallery.published import MODEL, Download, Published
from foamwright.gallery.shelf import Title, choices
from foamwright.language import Reader, count, decimal, mass, phrase, reading, roughly, say

LEGENDS = {
    "size": phrase("Finished size"),
    "foam": phrase("Foam"),
    "time": phrase("Time at the bench"),
    "difficulty": phrase("Difficulty"),
}
# what the scripts say
WORDS = {
    "designs": phrase("Designs: {n}"),
    "no_view": phrase("The view could not be loaded."),
    "loading": phrase("Loading the model …"),
    "canvas": phrase("3D model of {name}. Arrow keys turn it, plus and minus change the distance."),
    "no_drawing": phrase("This browser cannot draw in 3D."),
    "no_server": phrase("A browser loads no model from a file on the disk: open these pages through a server."),
    "no_model": phrase("The model could not be loaded."),
    "back": phrase("Step back"),
    "next": phrase("Next step"),
    "all": phrase("All of it"),
    "apart": phrase("Pull apart"),
    "step": phrase("Step {n} of {of}: {title} (what goes in is orange)"),
}
# what a design may say of where its maker can be found, and does not
_SILENT = {"video": "", "times": {}, "credit": "", "feedback": "", "to_measure": "", "suppliers": {}}
# places in them that a script fills in stay as they are
_PLACES = {name: f"{{{name}}}" for name in ("n", "of", "title", "name")}
_OUTSIDE = ("https://", "http://", "mailto:")


@dataclass(frozen=True)
class Site:
    """What all pages have in common: its title, where it will be published ("" or an address that ends in /)."""

    title: str
    address: str
    feed: bool  # whether some version says when it was published
    language: str = "en"


def _in_its_language(page: Callable[..., bytes]) -> Callable[..., bytes]:
    """The page in the language of the site, which is its first argument."""

    @wraps(page)
    def said(site: Site, *arguments: Any) -> bytes:
        with reading(Reader(site.language)):
            return page(site, *arguments)

    return said


@_in_its_language
def index_page(site: Site, titles: tuple[Title, ...], pictures: Mapping[str, str]) -> bytes:
    """All designs. `pictures` are paths of small pictures in the site by the place of a pack."""
    return _page(
        "index.html",
        site=site,
        up="",
        titles=titles,
        pictures=pictures,
        choices=choices(titles),
        legends=LEGENDS,
        description=count(
            "{n} design for a prop from sheet foam, free to print.",
            "{n} designs for props from sheet foam, free to print.",
            len(titles),
        ),
        preview=None,
    )


def filter_style(titles: tuple[Title, ...]) -> bytes:
    """Rules that hide what a chosen filter does not find, so that filters work without script."""
    rules = [
        f"body:has(#{name}-{number}:checked) .card:not(.in-{name}-{number}){{display:none}}\n"
        for name, words in choices(titles).items()
        for number in range(1, len(words) + 1)
    ]
    return "".join(rules).encode()


@_in_its_language
def design_page(
    site: Site, title: Title, picture: str | None, preview: str | None, changes: Mapping[str, str]
) -> bytes:
    """One design. `picture` is a path in the design's folder, `preview` one in the site; `changes` tells what changed
    since the older packs, by their place."""
    pack = title.first
    about = pack.about
    channel = {**_SILENT, **about.get("channel", {})}
    times = channel["times"]
    labels = {part["id"]: part["label"] for part in pack.parts}
    films = {labels[part]: at for part, at in times.items() if part in labels}
    measures = [one for one in about["choices"] if one["measure"]]
    file = shlex.quote(f"{pack.id}.yaml")
    # which size a design begins with is not in a pack
    base = f" --size {shlex.quote(pack.base)}" if len(title.newest) > 1 or pack.base != pack.size else ""
    return _page(
        "design.html",
        site=site,
        up="../",
        title=title,
        pack=_WithFilms(pack, films),
        about=about,
        channel=channel,
        picture=picture,
        preview=preview,
        description=about["summary"] or say("{name}: templates for foam, free to print.", name=pack.name),
        models=[_model(one) for one in title.newest if one.download(MODEL)],
        measures=measures,
        command=f"foamwright fit {file}{base}",
        build=f"foamwright build {file}",
        cautions=[
            {"title": say(CAUTIONS[key].title), "full": say(CAUTIONS[key].full)}
            for key in CAUTIONS
            if key in pack.cautions
        ],
        last_word=say(LAST_WORD),
        printing=f"{say(PRINTING)} {say(JOINING_PAGES)}",
        changes=changes,
    )


class _WithFilms:
    """A pack whose steps know where in the film they are."""

    def __init__(self, pack: Published, films: Mapping[str, str]) -> None:
        self._pack = pack
        self.steps = [
            {**step, "film": next((films[label] for label in step["parts"] if label in films), "")}
            for step in pack.steps
        ]

    def __getattr__(self, name: str) -> Any:
        return getattr(self._pack, name)


def _model(pack: Published) -> dict[str, Any]:
    model = pack.download(MODEL)
    assert model is not None
    return {
        "size": pack.size,
        "name": pack.name[:200],
        "href": _place_of(pack, model),
        "bytes": model.bytes,
        "steps": [{"title": step["title"], "parts": step["names"]} for step in pack.steps],
    }


def _page(template: str, **values: Any) -> bytes:
    words = {name: say(word, **_PLACES) for name, word in WORDS.items()}
    return _ENVIRONMENT.get_template(template).render(words=words, **values).encode()


def _place_of(pack: Published, file: Download) -> str:
    """From the design's page to one of its files."""
    return quote(f"{pack.version}/{pack.size}/{file.path}")


def _outside(address: str) -> str:
    """An address for a link; whatever is no address of a page or of a post box goes nowhere."""
    return address if str(address).startswith(_OUTSIDE) else "#"


def _cm(lengths: tuple[float, ...]) -> str:
    return " × ".join(f"{math.ceil(mm / 10.0):d}" for mm in lengths) + " cm" if lengths else ""


def _size(number: int) -> str:
    return f"{decimal(number / 1e6, 1)} MB" if number >= 1e5 else f"{decimal(max(number / 1e3, 0.1), 1)} kB"


def _plain(value: float) -> str:
    return f"{value:.6g}"


def _thickness(value: float) -> str:
    return _choice(f"{value:g} mm")


def _choice(word: str) -> str:
    """What a filter offers: an entry of the catalogue, or a thickness."""
    number, _, unit = word.partition(" ")
    return word.replace(number, decimal(float(number), len(number.partition(".")[2])), 1) if unit == "mm" else say(word)


def _money(value: float) -> str:
    return decimal(value, 2)


def _spoken(sentence: str, /, **named: object) -> Markup:
    """As `say`, for a page: what is filled in is escaped unless it is markup of the program's own."""
    return Markup(escape(say(sentence, **{name: f"{{{name}}}" for name in named}))).format(**named)


def _bdi(text: str) -> Markup:
    return Markup("<bdi>{}</bdi>").format(text)


def _code(text: str) -> Markup:
    return Markup("<code>{}</code>").format(text)


_ENVIRONMENT = Environment(
    loader=PackageLoader("foamwright.gallery", "pages"),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    auto_reload=False,
)
_ENVIRONMENT.filters |= {
    "cm": _cm,
    "kg": mass,
    "size": _size,
    "plain": _plain,
    "thickness": _thickness,
    "choice": _choice,
    "money": _money,
    "bdi": _bdi,
    "code": _code,
    "hours": roughly,
    "outside": _outside,
    "place_of": _place_of,
}
_ENVIRONMENT.globals |= {"say": _spoken, "count": count}
