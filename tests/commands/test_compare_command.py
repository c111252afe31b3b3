"""`foamwright compare` from the command line: packs, files, and git revisions."""

import json
import subprocess

import pytest

from foamwright.changes.revisions import checked_out
from foamwright.cli import main
from foamwright.design import load
from foamwright.errors import DesignError

PLATE = """\
format: 1
name: Plate
version: {version}
licence: CC0-1.0
parameters: {{scale: {{value: 1}}, clearance: {{value: 0 mm}}, width: {{value: {width} mm * scale, unit: mm}}}}
sizes: {{one: {{}}, two: {{set: {{scale: 2}}}}}}
stock: {{foam: {{name: Foam, thickness: 6 mm, sheet: [600 mm, 1200 mm]}}}}
forms: {{}}
parts:
  deck: {{kind: plate, stock: foam, outline: {{rectangle: {{width: width, height: 50}}}}, at: {{normal: z}}}}
"""


def git(folder, *arguments):
    subprocess.run(["git", "-c", "user.name=x", "-c", "user.email=x@example.org", *arguments], cwd=folder, check=True,
                   capture_output=True)  # fmt: skip


@pytest.fixture
def repository(tmp_path, monkeypatch):
    """Two revisions of a design, and the second one in the work tree."""
    monkeypatch.chdir(tmp_path)
    git(tmp_path, "init", "-q")
    (tmp_path / "designs").mkdir()
    for width in (80, 84):
        (tmp_path / "designs/plate.yaml").write_text(PLATE.format(version="1.0.0", width=width), "utf-8")
        git(tmp_path, "add", "designs")
        git(tmp_path, "commit", "-qm", f"width {width}")
    return tmp_path


def test_two_revisions(repository, capsys):
    assert main(["compare", "HEAD~1:designs/plate.yaml", "designs/plate.yaml"]) == 0
    told = capsys.readouterr().out
    assert "4.0 mm longer" in told and "width: 80 to 84" in told and "Print page" in told
    assert (
        main(["compare", "HEAD~1:designs/plate.yaml", "HEAD:designs/plate.yaml", "--size", "two", "--as", "json"]) == 0
    )
    assert json.loads(capsys.readouterr().out)["changed"][0]["longer"] == pytest.approx(8.0, abs=1e-3)


def test_the_version_rule_ends_with_1(repository, capsys):
    call = ["compare", "HEAD~1:designs/plate.yaml", "designs/plate.yaml", "--version-rule"]
    assert main(call) == 1
    assert "1.1.0" in capsys.readouterr().err
    (repository / "designs/plate.yaml").write_text(PLATE.format(version="1.1.0", width=84), "utf-8")
    assert main(call) == 0


def test_a_file_is_replaced_whole(repository, capsys):
    out = repository / "what-changed.html"
    out.write_text("old")
    assert main(["compare", "HEAD~1:designs/plate.yaml", "designs/plate.yaml", "--as", "html", "--out", str(out)]) == 0
    assert "4.0 mm longer" in out.read_text("utf-8") and not capsys.readouterr().out
    assert sorted(path.name for path in repository.iterdir()) == [".git", "designs", "what-changed.html"]


def test_a_revision_that_unpacks_to_more_than_a_disk_holds(repository, monkeypatch):
    monkeypatch.setattr("foamwright.changes.revisions._MOST_BYTES", 100)
    with pytest.raises(DesignError, match="the revision holds more than"), checked_out("HEAD:designs/plate.yaml"):
        pass


def test_a_fragment_beside_the_folder_of_designs(repository):
    (repository / "stock.yaml").write_text(
        "format: 1\nstock: {card: {name: Card, thickness: 1 mm, sheet: [600 mm, 1200 mm]}}\n"
    )
    design = repository / "designs/plate.yaml"
    design.write_text(design.read_text().replace("forms:", "include: [../stock.yaml]\nforms:"))
    git(repository, "add", ".")
    git(repository, "commit", "-qm", "shared")
    (repository / "stock.yaml").unlink()
    with checked_out("HEAD:designs/plate.yaml") as path:
        assert "card" in load(path).stock


def test_settings_of_a_repository_run_nothing(repository, tmp_path):
    """git runs what `tar.FORMAT.command`, a filter and a transport say (git-config, gitattributes, gitremote-helpers)."""
    ran = tmp_path / "ran"
    for key, value in (
        ("tar.zip.command", f"touch {ran}; cat"),
        ("filter.spoil.smudge", f"touch {ran}; cat"),
        ("remote.far.url", f"ext::sh -c 'touch {ran}'"),
        ("remote.far.promisor", "true"),
        ("protocol.ext.allow", "always"),
        ("core.fsmonitor", f"touch {ran}"),
    ):
        git(repository, "config", key, value)
    (repository / ".git/info/attributes").write_text("* filter=spoil\n")
    with checked_out("HEAD~1:designs/plate.yaml") as path:
        assert "width: {value: 80 mm" in path.read_text()
    for missing in ("HEAD~1:designs/plate.yaml", "0123456789012345678901234567890123456789:designs/plate.yaml"):
        blob = subprocess.run(["git", "rev-parse", "HEAD~1:designs/plate.yaml"], capture_output=True, text=True).stdout
        (repository / ".git/objects" / blob[:2] / blob[2:].strip()).unlink(missing_ok=True)
        with pytest.raises(DesignError), checked_out(missing):  # nothing is fetched
            pass
    assert not ran.exists()


def test_a_folder_that_looks_like_a_repository_is_none(repository, tmp_path):
    """A pull request may hold the files of a repository, settings and all (safe.bareRepository of git-config)."""
    for name in ("objects/x", "refs/x", "HEAD"):
        (repository / "designs" / name).parent.mkdir(exist_ok=True)
        (repository / "designs" / name).write_text("ref: refs/heads/x\n")
    (repository / "designs/config").write_text(
        f"[core]\nrepositoryformatversion = 0\nbare = false\nworktree = {tmp_path}/..\n"
    )
    with pytest.raises(DesignError, match="bare repository"), checked_out("HEAD:designs/plate.yaml"):
        pass


def tree(folder, *entries):
    """The name of a folder in git that holds such (mode, sort, name, object), written by hand: git-mktree refuses some."""
    content = b"".join(f"{mode} {name}\0".encode() + bytes.fromhex(one) for mode, name, one in entries)
    made = subprocess.run(["git", "hash-object", "-w", "-t", "tree", "--literally", "--stdin"], cwd=folder, input=content, check=True,
                          capture_output=True)  # fmt: skip
    return made.stdout.decode().strip()


def commit(folder, top):
    made = subprocess.run(["git", "-c", "user.name=x", "-c", "user.email=x@example.org", "commit-tree", top, "-m", "x"], cwd=folder,
                          check=True, capture_output=True)  # fmt: skip
    return made.stdout.decode().strip()


def test_names_that_lead_out_of_a_revision(repository):
    git(repository, "hash-object", "-w", "designs/plate.yaml")
    blob = subprocess.run(
        ["git", "rev-parse", "HEAD:designs/plate.yaml"], capture_output=True, text=True
    ).stdout.strip()
    out = tree(repository, ("40000", "..", tree(repository, ("100644", "plate.yaml", blob))))
    with (
        pytest.raises(DesignError, match="no name of a file"),
        checked_out(f"{commit(repository, out)}:designs/plate.yaml"),
    ):
        pass


def test_a_few_folders_that_stand_for_billions_of_files(repository, monkeypatch):
    monkeypatch.setattr("foamwright.changes.revisions._MOST_LISTED", 500_000)
    blob = subprocess.run(
        ["git", "rev-parse", "HEAD:designs/plate.yaml"], capture_output=True, text=True
    ).stdout.strip()
    top = tree(repository, *(("100644", f"{i}.yaml", blob) for i in range(10)))
    for _ in range(9):
        top = tree(repository, *(("40000", f"f{i}", top) for i in range(10)))
    with (
        pytest.raises(DesignError, match="more files than"),
        checked_out(f"{commit(repository, top)}:designs/plate.yaml"),
    ):
        pass


@pytest.mark.parametrize(
    "before",
    ["nowhere", "v9:designs/plate.yaml", "HEAD:designs/none.yaml", "HEAD:../outside.yaml", "--help:x", "HEAD:", ":x"],
)
def test_what_cannot_be_compared_is_one_line_and_2(repository, capsys, before):
    with pytest.raises(SystemExit) if before == "--help:x" else _nothing():
        assert main(["compare", before, "designs/plate.yaml"]) == 2
        told = capsys.readouterr().err.strip()
        assert "\n" not in told and before.split(":")[0] in told


class _nothing:
    def __enter__(self):
        return self

    def __exit__(self, *_):
        return False


def test_an_unknown_size(repository, capsys):
    assert main(["compare", "designs/plate.yaml", "designs/plate.yaml", "--size", "three"]) == 2
    assert "expected one of one, two" in capsys.readouterr().err
