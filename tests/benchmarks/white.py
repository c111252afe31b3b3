"""How much of each page of a booklet is white: of the area between its margins, what is more than 6 mm from any ink.

python -m tests.benchmarks.white [--pages] FILE.pdf ...
"""

from __future__ import annotations

import sys

import numpy as np
import pypdfium2
from scipy.ndimage import maximum_filter

from foamwright.booklet.pages.pages import BOTTOM, SIDE, TOP

DPI = 50.0
NEAR = 6.0  # mm: spaces between paragraphs and beside pictures are not white


def shares(file: str) -> list[float]:
    """Of each page, in order."""
    dots = DPI / 25.4
    found = []
    for page in pypdfium2.PdfDocument(file):
        grey = np.asarray(page.render(scale=DPI / 72.0, grayscale=True).to_pil())
        inner = grey[round(TOP * dots) : -round(BOTTOM * dots), round(SIDE * dots) : -round(SIDE * dots)]
        inked = maximum_filter(inner < 250, size=2 * round(NEAR * dots) + 1)
        found.append(1.0 - float(inked.mean()))
    return found


def main(given: list[str]) -> None:
    for file in (one for one in given if one != "--pages"):
        each = shares(file)
        print(
            f"{file}: {len(each)} pages, {100 * np.mean(each):.0f} % white on the mean, {sum(s > 0.4 for s in each)} over 40 %"
        )
        if "--pages" in given:
            print("   " + "  ".join(f"{n}: {100 * share:.0f}" for n, share in enumerate(each, start=1)))


if __name__ == "__main__":
    main(sys.argv[1:])
