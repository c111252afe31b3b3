"""The pages of the site, set with Jinja: every value is escaped, a name that is not given is an error."""

from __future__ import annotations

import math
import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from foamwright.booklet.cautions import CAUTIONS, LAST_WORD, PRINTING
from foamwright.gallery.published import MODEL, Download, Published
from foamwright.gallery.shelf import Title, choices
from foamwright.language import duration, say

LEGENDS = {"size": "Finished size", "foam": "Foam", "time": "Time at the bench", "difficulty": "Difficulty"}
# what a design may say of where its maker can be found, and does not
_SILENT = {"video": "", "times": {}, "credit": "", "feedback": "", "to_measure": "", "suppliers": {}}
_OUTSIDE = ("https://", "http://", "mailto:")


@dataclass(frozen=True)
class Site:
    """What all pages have in common: its title, where it will be published ("" or an address that ends in /)."""

    title: str
    address: str
    feed: bool  # whether some version says when it was published


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
        description=f"{len(titles)} designs for props from sheet foam, free to print.",
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
        description=about["summary"] or f"{pack.name}: templates for foam, free to print.",
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
        printing=say(PRINTING),
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
    return _ENVIRONMENT.get_template(template).render(**values).encode()


def _place_of(pack: Published, file: Download) -> str:
    """From the design's page to one of its files."""
    return quote(f"{pack.version}/{pack.size}/{file.path}")


def _outside(address: str) -> str:
    """An address for a link; whatever is no address of a page or of a post box goes nowhere."""
    return address if str(address).startswith(_OUTSIDE) else "#"


def _cm(lengths: tuple[float, ...]) -> str:
    return " × ".join(f"{math.ceil(mm / 10.0):d}" for mm in lengths) + " cm" if lengths else ""


def _kg(mass: float) -> str:
    return f"{1000.0 * mass:.0f} g" if mass < 1.0 else f"{mass:.1f} kg"


def _size(number: int) -> str:
    return f"{number / 1e6:.1f} MB" if number >= 1e5 else f"{max(number / 1e3, 0.1):.1f} kB"


def _plain(value: float) -> str:
    return f"{value:.6g}"


def _thickness(value: float) -> str:
    return f"{value:g} mm"


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
    "kg": _kg,
    "size": _size,
    "plain": _plain,
    "thickness": _thickness,
    "hours": duration,
    "outside": _outside,
    "place_of": _place_of,
}
