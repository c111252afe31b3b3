"""Pictures of README, taken from packs that were built: `python -m tests.readme_pictures build`.

`build` is the folder that `foamwright build designs/*.yaml` wrote. Each design gets the picture of its first size;
the page is the first template of the flagship.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import pypdfium2

from foamwright.design import sizes

DESIGNS = Path(__file__).parents[1] / "designs"
PAGE_OF, PAGE = "pocket-submarine", 2  # counted from 0
DOTS_PER_POINT = 1.0  # 72 to the inch: lines are still seen, and the file stays small


def main(packs: Path) -> None:
    for design in sorted(DESIGNS.glob("*.yaml")):
        pack = packs / design.stem / sizes(design)[0]
        shutil.copyfile(pack / "picture.svg", DESIGNS / "pictures" / f"{design.stem}.svg")
        if design.stem == PAGE_OF:
            page = pypdfium2.PdfDocument(pack / "templates.pdf")[PAGE]
            picture = page.render(scale=DOTS_PER_POINT).to_pil().convert("P", colors=32)
            picture.save(DESIGNS / "pictures" / "template-page.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
