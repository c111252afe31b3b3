"""The table of licences knows those that are allowed by the ways in which packages state them, and refuses others.

Ways of stating: the SPDX licence list, PEP 639, and the trove classifiers of PyPI.
"""

import importlib.util
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / ".ci" / "licences.py"
spec = importlib.util.spec_from_file_location("licences", SCRIPT)
licences = importlib.util.module_from_spec(spec)
spec.loader.exec_module(licences)


@pytest.mark.parametrize(
    ("statement", "name"),
    [
        ("MIT", "MIT"),
        ("MIT License", "MIT"),
        ("MIT-CMU", "MIT"),
        ("BSD-3-Clause", "BSD"),
        ("BSD License", "BSD"),
        ("Apache Software License", "Apache-2.0"),
        ("Apache-2.0", "Apache-2.0"),
        ("Mozilla Public License 2.0 (MPL 2.0)", "MPL-2.0"),
        ("LGPL-3.0-or-later", "LGPL"),
        ("GNU Lesser General Public License v3 or later (LGPLv3+)", "LGPL"),
        ("PSF-2.0", "PSF"),
    ],
)
def test_allowed(statement, name):
    assert licences.family(statement) == name


@pytest.mark.parametrize(
    "statement",
    [
        "GPL-3.0-or-later",
        "GNU General Public License v3 (GPLv3)",
        "AGPL-3.0-only",
        "GNU Affero General Public License v3",
        "Proprietary",
        "MITRE",
        "SSPL-1.0",
        "CC-BY-NC-4.0",
        "",
    ],
)
def test_refused(statement):
    assert licences.family(statement) is None


def test_one_part_of_an_expression_that_is_not_allowed_fails_the_whole(tmp_path, monkeypatch, capsys):
    said = {"good": ["MIT"], "mixed": ["MIT", "GPL-2.0-only"], "silent": []}
    monkeypatch.setattr(licences, "statements", said.__getitem__)
    for names, code in ((["good"], 0), (["good", "mixed"], 1), (["silent"], 1)):
        (tmp_path / "requirements.txt").write_text("".join(f"{name}==1.0 \\\n" for name in names), "utf-8")
        assert licences.main(tmp_path / "requirements.txt") == code
    assert "NOT ALLOWED" in capsys.readouterr().out


def test_everything_that_is_installed_from_the_lock_file_is_allowed(capsys):
    assert licences.main(SCRIPT.parents[1] / "requirements.txt") == 0, capsys.readouterr().out
