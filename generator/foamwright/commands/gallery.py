"""`foamwright gallery PACKS... --out SITE`: a static site of packs, or the one that stands there renewed."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from foamwright.errors import DesignError
from foamwright.language import LANGUAGES
from foamwright.terminal import Command, tell

EXAMPLE = """\
examples:
  foamwright gallery build --out site
  foamwright gallery build older-packs --out site --title "Props to build" --address https://example.org/props/

PACKS are folders of packs, or folders above them; several versions of a design may be among them. Files are held
against their checksums. The site is plain files: any web server will do, and nothing is loaded from elsewhere. Only
what changed is written anew; what else lies in SITE is left alone.
"""
_ADDRESS = re.compile(r"https?://[^\s<>\"']+/")


def add(command: Command) -> None:
    """Give the command its arguments; `command` makes it from name, summary and example."""
    parser = command("gallery", "make a static site of packs, or renew it", EXAMPLE)
    parser.add_argument("packs", nargs="+", metavar="PACKS", help="a pack's folder, or a folder above packs")
    parser.add_argument("--out", default="site", metavar="SITE", help="the folder of the site (default: site)")
    parser.add_argument("--title", default="Foam templates", help="what stands above it (default: Foam templates)")
    parser.add_argument(
        "--address",
        default="",
        metavar="URL",
        help="where it will be published, ending in /: previews and the feed need it to be found from elsewhere",
    )
    parser.add_argument("--language", choices=LANGUAGES, default="en", help="language of the pages (default: en)")
    parser.add_argument("--jobs", type=int, default=0, metavar="N", help="processes (default: as many as processors)")
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Make it, and say what was written."""
    from foamwright.gallery.site import build_site
    from foamwright.many import processors
    from foamwright.store import of_this_machine

    if options.address and not _ADDRESS.fullmatch(options.address):
        raise DesignError(
            f"--address {options.address}: expected an address that ends in /, as https://example.org/props/"
        )
    store, jobs = of_this_machine({}), options.jobs or processors()
    out = Path(options.out)
    built = build_site(options.packs, out, options.title, options.address, store, jobs, options.language)
    told = f"{built.designs} designs, {built.packs} packs; {built.written} files written"
    tell(f"{options.out}: {told}{f', {built.removed} removed' if built.removed else ''}")
    return 0
