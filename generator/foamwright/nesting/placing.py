"""Layouts to start a search from: pieces thrown on sheets, two of them swapped, a sheet made shorter. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from foamwright.nesting.search import Layout, bounds

_LARGE = 0.75  # share of the area of all boxes that large pieces make up


def top(layout: Layout, sheet: int) -> float:
    """Length of the part of a sheet that pieces lie on."""
    on = layout.sheet == sheet
    return float((layout.place[on, 1] + layout.rooms.form_box[layout.form[on], 3]).max(initial=0.0))


def scattered(layout: Layout, pieces: Iterable[int], rng: np.random.Generator) -> Layout | None:
    """`pieces` thrown anywhere, the largest first, each on the sheet with the most room left; None if one fits none."""
    new, r = layout.copy(), layout.rooms
    pieces = list(pieces)
    area = r.size.prod(axis=1)[r.form[layout.shape]]
    rest = np.ones(len(layout.shape), bool)
    rest[pieces] = False
    free = layout.sheets.prod(axis=1) - np.bincount(layout.sheet[rest], area[rest], len(layout.sheets))
    for piece in sorted(pieces, key=lambda p: (-area[p], p)):
        forms = range(r.form[layout.shape[piece]], r.form[layout.shape[piece] + 1])
        fits = [[f for f in forms if (r.size[f] <= size + 1e-9).all()] for size in layout.sheets]
        possible = [s for s, own in enumerate(fits) if own]
        if not possible:
            return None
        sheet = max(possible, key=lambda s: (free[s], -s))
        form = fits[sheet][rng.integers(len(fits[sheet]))]
        room = np.maximum(layout.sheets[sheet] - r.size[form], 0.0)
        new.form[piece], new.sheet[piece] = form, sheet
        new.place[piece] = rng.random(2) * room - r.form_box[form, :2]
        free[sheet] -= area[piece]
    return new


def swapped(layout: Layout, rng: np.random.Generator) -> Layout | None:
    """Two large pieces in each other's places; None if one of them fits nowhere."""
    new, area = layout.copy(), layout.rooms.size.prod(axis=1)[layout.form]
    by_size = np.argsort(-area, kind="stable")
    count = int(np.searchsorted(np.cumsum(area[by_size]), _LARGE * area.sum())) + 1
    if len(area) < 2:
        return new
    a, b = rng.choice(by_size[: max(count, 2)], 2, replace=False)
    middle = layout.rooms.middle[layout.form]
    for one, other in ((a, b), (b, a)):
        new.sheet[one] = layout.sheet[other]
        new.place[one] = layout.place[other] + middle[other] - middle[one]
    return _within(new, rng)


def cut_to(layout: Layout, length: float, rng: np.random.Generator) -> Layout | None:
    """The last sheet made `length` long by taking a strip out somewhere; None if a piece then fits nowhere."""
    new, last = layout.copy(), len(layout.sheets) - 1
    middle = layout.place[:, 1] + layout.rooms.middle[layout.form, 1]
    beyond = (layout.sheet == last) & (middle > rng.random() * layout.sheets[last, 1])
    new.place[beyond, 1] -= layout.sheets[last, 1] - length
    new.sheets[last, 1] = length
    return _within(new, rng)


def _within(layout: Layout, rng: np.random.Generator) -> Layout | None:
    """Every piece within its sheet; one that is too large for it is thrown anywhere."""
    size = layout.rooms.size[layout.form]
    lost = np.flatnonzero((size > layout.sheets[layout.sheet] + 1e-9).any(axis=1))
    inside = scattered(layout, lost, rng) if len(lost) else layout
    if inside is not None:
        limits = np.array([bounds(inside, f, s) for f, s in zip(inside.form, inside.sheet)])
        inside.place[:] = np.clip(inside.place, limits[:, ::2], np.maximum(limits[:, 1::2], limits[:, ::2]))
    return inside
