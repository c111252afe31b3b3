"""YAML that is none, or too much of it; fragments; stock files; calls of the command."""

# ruff: noqa: PERF401 - a table of cases reads better as loops

from __future__ import annotations

import json
from typing import Any

from tests.hostile.trial import Place, Trial, changed, fifo, folder, link, sparse, tag, text

PLAIN = text(tag())
SPECIAL: tuple[tuple[str, Place], ...] = (
    ("a FIFO", fifo), ("a folder", folder), ("a sparse file of 10 GB", sparse(10**10)), ("a loop of links", link("x.yaml")),
    ("a dangling link", link("nowhere")), ("/dev/zero", link("/dev/zero")), ("/dev/stdin", link("/dev/stdin")),
    ("/dev/random", link("/dev/urandom")), ("/proc/self/mem", link("/proc/self/mem")), ("/proc/self/environ", link("/proc/self/environ")),
    ("/etc/passwd", link("/etc/passwd")), ("/dev/tty", link("/dev/tty")), ("/dev/full", link("/dev/full")),
)  # fmt: skip


def yaml() -> list[Trial]:
    found: list[tuple[str, Place]] = list(SPECIAL)
    bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n" + "".join(
        f"a{i}: &a{i} [{','.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 10)
    )
    mapped = "a0: &a0 {x: 1}\n" + "".join(
        f"a{i}: &a{i} {{<<: [{','.join([f'*a{i - 1}'] * 9)}]}}\n" for i in range(1, 10)
    )
    head = PLAIN.decode()
    raw = (
        "", " ", "\n", "---", "--- ---", "%YAML 9.9\n---\na: 1", "%TAG ! !x\n--- a", "a", "1", "[]", "{}", "null", "- a\n- b", "a: b: c", "a:\n\tb: 1", "'", '"', "{",
        "[", "}", "&a", "*a", "*a: 1", "&a a: *a", "a: &a [*a]", "a: &a {b: *a}", "? a", "? [a]\n: b", "? {a: b}\n: c", "!!python/object/apply:os.system [x]",
        "a: !!python/name:os.system", "a: !!int x", "a: !!float x", "a: !!bool x", "a: !!null x", "a: !!timestamp 2001-01-01", "a: !!binary x", "a: !!set {a}", "a: !!omap []",
        "a: !x y", "!!map []", "!!seq {}", "!!str {}", "a: !!str [1]", "a: !!int [1]", "a: !!int ''", "a: !!float nan", "a: !!float .inf", "a: !!int 0x10", "a: |", "a: >", "a: |99\n x", "<<: 1", "<<: {a: 1}",
        "a: 1\na: 2", "a: 1\n---\nb: 2", "format: 1\nformat: 1", "a: " + "9" * 5000, "a: -" + "9" * 5000, "a: 1e" + "9" * 5000, "a: ." + "9" * 5000, "a: " + "x" * 10**6,
        "[" * 900 + "]" * 900, "[" * 20000, "{a: " * 900 + "1" + "}" * 900, "- " * 5000 + "a", "a:\n" + "".join(" " * i + "b:\n" for i in range(1, 900)), "x" * 10**6, "x" * 10**6 + ": 1", "? " * 5000,
        "!" * 10000 + " a", "&" + "a" * 10**5 + " b", bomb, mapped, head + "\n" + bomb, "\ufeff" + head, "\ufeff\ufeff" + head, head + "\0", "\0" + head, head + "\x07", head + "\x1b[31m", head + "\u2028", head + "\ufffe",
        "\x1b]0;x\x07: 1", "::error::x: 1", '"\\n::error::x": 1', '"\\x1b[31m": 1', '"\\u202e": 1', '"\\ud800": 1', '"\\x00": 1', "#" + "x" * 10**6, "\n" * 10**5 + head, " " * 10**6, "a: [" + "1," * 300000 + "]",
        "".join(f"k{i}: 1\n" for i in range(60000)), "a: {" + ",".join(f"k{i}: 1" for i in range(60000)) + "}", "&a [" + "*a," * 1000 + "]", "{? {? {? a}}}",
    )  # fmt: skip
    found += [(repr(one[:40]), one.encode("utf-8", "surrogatepass")) for one in raw]
    found += [
        ("UTF-16", PLAIN.decode().encode("utf-16")), ("UTF-32", PLAIN.decode().encode("utf-32")), ("latin-1", b"name: \xe9"), ("half a letter", PLAIN + b"#\xe2\x82"),
        ("surrogates", b'name: "\xed\xa0\x80"'), ("5 MB of design", PLAIN + b"\n#" + b"x" * 5 * 10**6), ("20 MB of lists", b"a: [" + b"[]," * 7 * 10**6 + b"]"),
        ("random bytes", bytes((i * 7919 + i * i) % 256 for i in range(5000))), ("an ELF", b"\x7fELF" + bytes(1000)), ("a zip", b"PK\x03\x04" + bytes(100)), ("a PDF", b"%PDF-1.4\n"),
    ]  # fmt: skip
    return [Trial(name, {"tag.yaml" if name != "a loop of links" else "x.yaml": content}, "tag.yaml" if name != "a loop of links" else "x.yaml",
                  expects="built" if name == repr("\ufeff" + head[:39]) else "either") for name, content in found]  # fmt: skip


def including(*names: Any) -> bytes:
    return text({**tag(), "include": list(names)})


def includes() -> list[Trial]:
    fragment = b"format: 1\nparameters: {more: {value: 1}}\n"
    found: list[Trial] = []
    for name, content in SPECIAL:
        found.append(
            Trial(f"fragment is {name}", {"tag.yaml": including("x.yaml"), "x.yaml": content}, expects="refused")
        )
    for name in ("", ".", "..", "/", "/etc/passwd", "../x.yaml", "../../../../etc/passwd", "x.yaml/", "x.yaml/..", "./x.yaml", "a/../x.yaml", "nowhere.yaml", "x.yaml\n", "\0", "x\0.yaml", "x" * 300, "x" * 5000,
                 "file:///etc/passwd", "http://localhost/x", "~/x", "$HOME/x", "\\x", "C:\\x", "\x1b[31m", "\n::error::x", "\u202e", "tag.yaml", ".git/config", ".git", 1, None, [], {}, ["x.yaml"], True):  # fmt: skip
        files: dict[str, Place] = {"tag.yaml": including(name), "x.yaml": fragment, ".git/config": fragment}
        expects = "either" if name in ("./x.yaml", "a/../x.yaml", "x.yaml/") else "refused"
        found.append(Trial(f"include {str(name)[:30]!r}", files, expects=expects))

    def nest(i: int) -> bytes:
        return json.dumps({"format": 1, "include": [f"f{i + 1}.yaml"]}).encode()

    found.append(
        Trial(
            "chain of 1,500 files",
            {"tag.yaml": including("f0.yaml"), **{f"f{i}.yaml": nest(i) for i in range(1500)}, "f1500.yaml": fragment},
        )
    )
    twice = {f"f{i}.yaml": json.dumps({"format": 1, "include": [f"f{i + 1}.yaml"] * 2}).encode() for i in range(40)}
    found.append(
        Trial(
            "each file includes the next one twice", {"tag.yaml": including("f0.yaml"), **twice, "f40.yaml": fragment}
        )
    )
    found.append(
        Trial(
            "a file that includes itself",
            {"tag.yaml": including("x.yaml"), "x.yaml": b"format: 1\ninclude: [x.yaml]\n"},
            expects="refused",
        )
    )
    found.append(Trial("1,000 times the same file", {"tag.yaml": including(*["x.yaml"] * 1000), "x.yaml": fragment}))
    found.append(
        Trial("a link out", {"tag.yaml": including("x.yaml"), "x.yaml": link("/etc/hostname")}, expects="refused")
    )
    found.append(
        Trial(
            "a drawing that is a FIFO",
            {"tag.yaml": text(tag({"svg": {"file": "a.svg"}})), "a.svg": fifo},
            expects="refused",
        )
    )
    found.append(
        Trial(
            "a drawing of 10 GB",
            {"tag.yaml": text(tag({"svg": {"file": "a.svg"}})), "a.svg": sparse(10**10)},
            expects="refused",
        )
    )
    found.append(
        Trial(
            "a drawing in .git",
            {"tag.yaml": text(tag({"svg": {"file": ".git/a.svg"}})), ".git/a.svg": b"<svg/>"},
            expects="refused",
        )
    )
    found.append(Trial("a name with NUL", {"tag.yaml": text(tag({"svg": {"file": "a\0.svg"}}))}, expects="refused"))
    big = b"format: 1\nparameters:\n" + b"".join(b" q%d: {value: 1}\n" % i for i in range(20_000))
    found.append(Trial("a fragment with 20,000 parameters", {"tag.yaml": including("x.yaml"), "x.yaml": big}))
    return found


def have() -> list[Trial]:
    found = []
    for name, content in SPECIAL:
        found.append(
            Trial(
                f"shelf is {name}",
                {"tag.yaml": PLAIN, "x.yaml": content},
                options=("--have", "x.yaml"),
                expects="refused",
            )
        )
    shelf = {"format": 1, "stock": {"foam": {"sheets": 1, "offcuts": [["300 mm", "450 mm"]]}}}
    for route, value in (("stock.foam.sheets", 10**9), ("stock.foam.sheets", 10**30), ("stock.foam.sheets", -1), ("stock.foam.sheets", 1.5), ("stock.foam.sheets", "1"),
                         ("stock.foam.offcuts", [[1e300, 1]]), ("stock.foam.offcuts", [[1e-300, 1]]), ("stock.foam.offcuts", [["1e999999999", 1]]), ("stock.foam.offcuts", [[10, 10]] * 50000),
                         ("stock.foam.offcuts", [["x", 1]]), ("stock.foam.offcuts", [[1]]), ("stock.foam.offcuts", [["5 deg", 5]]), ("stock", {}), ("stock", []), ("format", 2), ("stock.none", {"sheets": 3}),
                         ("stock.foam.offcuts", [])):  # fmt: skip
        found.append(
            Trial(
                f"{route} {str(value)[:30]}",
                {"tag.yaml": PLAIN, "x.yaml": text(changed(shelf, route, value))},
                options=("--have", "x.yaml"),
                only="sheets",
            )
        )
    for name in ("", "nowhere", "/", "\n", "x" * 5000, "tag.yaml"):
        found.append(
            Trial(
                f"--have {name[:20]!r}",
                {"tag.yaml": PLAIN},
                options=("--have", name),
                expects="refused" if name else "either",
            )
        )
    return found


def calls() -> list[Trial]:
    found = []
    for value in ("inf", "nan", "-1", "1e9", "", "x", "1e-300", "0x1"):
        found.append(Trial(f"--nest-seconds {value!r}", {"tag.yaml": PLAIN}, options=(f"--nest-seconds={value}",)))
    for value in (
        "A9",
        "",
        "A4" * 5000,
        "0x0",
        "1e300mm",
        "\x1b[31m",
        "-1x-1",
        "letter\n",
        "\n::error::x",
        "nan x nan",
        "10mm x 10mm",
        "1e9 x 1e9",
        "roll",
        "roll 0",
        "roll 1e300",
    ):
        found.append(
            Trial(f"--paper {value[:20]!r}", {"tag.yaml": PLAIN}, options=(f"--paper={value}",), only="templates")
        )
    for value in ("", "x", "cut_list,", ",", "cut_list,cut_list", "\x1b[31m", "\n::error::x", "archive", "Cut_list"):
        found.append(Trial(f"--only {value!r}", {"tag.yaml": PLAIN}, call=("build", "tag.yaml", f"--only={value}")))
    for value in (
        "x",
        "x=",
        "=1",
        "x=1",
        "scale=",
        "scale=1=2",
        "scale=\x1b[31m",
        "\x1b[31m=1",
        "scale=\n",
        "scale_=1",
        "foam_thickness=1e300",
        "foam_thickness=0",
        "scale=" + "1" * 10000,
    ):
        found.append(Trial(f"--set {value[:20]!r}", {"tag.yaml": PLAIN}, options=(f"--set={value}",)))
    for value in ("", "none", "small\n", "../x", "all", "\x1b[31m", "/"):
        found.append(Trial(f"--size {value!r}", {"tag.yaml": PLAIN}, options=(f"--size={value}",)))
    for value in ("/dev/null/x", "/proc/x", "tag.yaml", "x" * 5000, "a\n::error::b", "\x1b[31m", "/dev/full"):
        found.append(Trial(f"--out {value[:20]!r}", {"tag.yaml": PLAIN}, options=(f"--out={value}",)))
    for value in (
        "",
        "nowhere.yaml",
        "/",
        "x" * 5000,
        "a\n::error::b.yaml",
        "\x1b[31m.yaml",
        "-",
        "--",
        "tag.yaml/x",
        "\udcff.yaml",
    ):
        found.append(
            Trial(f"check {value[:20]!r}", {"tag.yaml": PLAIN}, call=("check", "--", value), expects="refused")
        )
    for value in (
        "...yaml",
        ".yaml",
        "..",
        "a\nb.yaml",
        "\x1b[31m.yaml",
        "-x.yaml",
        " .yaml",
        "con.yaml",
        "a:b.yaml",
        "ü.yaml",
        "tag",
        "tag.yaml.yaml",
        "x" * 250 + ".yaml",
        "漢字.yaml",
        "\u202e.yaml",
    ):
        found.append(
            Trial(
                f"a file called {value[:20]!r}",
                {value if value != ".." else "y": PLAIN},
                call=("build", "--only=cut_list", "--", value),
            )
        )
    for value in (
        "tag.yaml",
        "/x/y.yaml",
        "x",
        "",
        "a\n::error::b.yaml",
        "\x1b[31m.yaml",
        "...yaml",
        "x" * 300 + ".yaml",
    ):
        found.append(Trial(f"new {value[:20]!r}", {"tag.yaml": PLAIN}, call=("new", "--", value)))
    return found
