"""Table of the licences of everything that requirements.txt installs; fails for one that is not in the list.

Read from the metadata of what is installed: the SPDX expression where there is one (PEP 639), else the classifier,
else the free text, else the licence file, which are matched by the way such texts begin.
"""

from __future__ import annotations

import re
import sys
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

# What a program under the MIT licence may depend on; GPL and AGPL are not among them.
ALLOWED = {
    "0BSD": r"0BSD\b",
    "Apache-2.0": r"Apache(-2\.0| 2\.0| Software License| Public License 2\.0| License 2\.0)",
    "BSD": r"BSD(-[23]-Clause| [23]-Clause| License| license|$)",
    "CC0-1.0": r"CC0-1\.0\b",
    "LGPL": r"(GNU )?(LGPL|Lesser General Public License)",
    "LLVM exception": r"LLVM-exception\b",
    "MIT": r"(The )?MIT( License|-0|-CMU|$)",
    "MPL-2.0": r"(MPL-2\.0|Mozilla Public License 2\.0)",
    "PSF": r"(PSF(-2\.0|L)|Python Software Foundation License)",
    "Zlib": r"(Zlib|zlib)\b",
}


def statements(name: str) -> list[str]:
    """What a package says of its licence, each part of an expression by itself; empty where it says nothing."""
    metadata = distribution(name).metadata
    expression = metadata.get("License-Expression")
    if expression:
        return [part.strip("() ") for part in re.split(r"\b(?:AND|OR|WITH)\b", expression)]
    classifiers = [c.split("::")[-1].strip() for c in metadata.get_all("Classifier") or () if c.startswith("License")]
    named = [c for c in classifiers if c != "OSI Approved"]
    free = [line.strip() for line in (metadata.get("License") or "").splitlines()[:1] if line.strip()]
    return named or free or [first_line(name, file) for file in metadata.get_all("License-File") or ()]


def first_line(name: str, file: str) -> str:
    """How the text of a licence begins that comes with a package (PEP 639 keeps it in `licenses`)."""
    text = distribution(name).read_text(f"licenses/{file}") or distribution(name).read_text(file) or ""
    return text.strip().partition("\n")[0].strip()


def family(statement: str) -> str | None:
    """The entry of ALLOWED that a statement belongs to, or None."""
    return next((name for name, pattern in ALLOWED.items() if re.match(pattern, statement)), None)


def locked(text: str) -> list[str]:
    """Names of the packages in a requirements file."""
    return re.findall(r"^([A-Za-z0-9._-]+)==", text, re.MULTILINE)


def main(requirements: Path) -> int:
    """Print the table; returns 1 if a licence is missing or not allowed."""
    failed = 0
    for name in locked(requirements.read_text("utf-8")):
        try:
            said = statements(name)
        except PackageNotFoundError:
            continue  # for another platform
        found = [family(statement) for statement in said]
        good = bool(found) and None not in found
        failed |= not good
        print(
            f"{name:28} {' '.join(dict.fromkeys(f or '?' for f in found)):24} {'' if good else 'NOT ALLOWED: '}{said}"
        )
    return failed


if __name__ == "__main__":
    sys.exit(main(Path(__file__).parents[1] / "requirements.txt"))
