"""SVG drawings as outlines."""

from __future__ import annotations

import gzip

from tests.hostile.trial import Trial, tag, text

DESIGN = text(tag({"svg": {"file": "a.svg"}}))
SHAPE = '<rect x="10" y="10" width="40" height="30"/>'


def drawing(body: str = SHAPE, head: str = 'width="100mm" height="100mm" viewBox="0 0 100 100"') -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode()


def trials() -> list[Trial]:
    found: list[tuple[str, bytes, str]] = []

    def add(name: str, content: bytes, expects: str = "either") -> None:
        found.append((name, content, expects))

    add("plain", drawing(), "built")
    bad_lengths = ("", " ", "0", "-5mm", "1e999", "nan", "inf", "12furlong", "mm", "1e-300mm", "1e300mm", "100%", "5em",
                   "1e400", "--5", "0x10mm", "9" * 400, "１００mm", "100 mm mm", "calc(1mm)")  # fmt: skip
    for value in bad_lengths:
        add(f"width {value[:12]!r}", drawing(head=f'width="{value}" height="100mm" viewBox="0 0 100 100"'))
    for value in ("0 0 0 0", "0 0 -1 -1", "0 0 100", "a b c d", "0 0 1e-300 1e-300", "0 0 1e300 1e300", "nan nan nan nan",
                  "0,0,100,100", "", "0 0 100 100 100", "1e999 0 1 1", "0 0 1e-9 100"):  # fmt: skip
        add(f"viewBox {value!r}", drawing(head=f'width="100mm" height="100mm" viewBox="{value}"'))
    for head in ("", 'width="100mm"', 'viewBox="0 0 10 10"', 'width="100" height="100"',
                 'width="100mm" height="1mm" viewBox="0 0 100 100"'):  # fmt: skip
        add(f"head {head!r}", drawing(head=head))
    for value in ("", "-3", "0", "nan", "1e999", "1e308", "1e-308", "x", "5%", "5em", "1,5", "９"):
        add(f"rect width {value!r}", drawing(f'<rect x="0" y="0" width="{value}" height="9"/>'))
        add(f"circle r {value!r}", drawing(f'<circle cx="5" cy="5" r="{value}"/>'))
        add(f"ellipse rx {value!r}", drawing(f'<ellipse cx="5" cy="5" rx="{value}" ry="3"/>'))
        add(f"polygon {value!r}", drawing(f'<polygon points="0,0 {value},0 9,9"/>'))
    for data in ("", "M", "M 0", "M 0 0", "M 0 0 Z", "L 1 1", "M 0 0 L 9 0", "M 0 0 L 9 0 9 9", "M0 0 L9 0 9 9 Z",
                 "M 0 0 C 1 1", "M 0 0 A 0 0 0 0 0 9 9 Z", "M 0 0 A 5 5 0 2 2 9 9 Z", "M 0 0 H", "M 0 0 X 5", "M nan nan L 1 1 2 0 Z",
                 "M 1e308 0 L -1e308 0 0 1e308 Z", "M 0 0 L 9 9 9 0 0 9 Z", "M 0 0 L 9 0 9 9 0 9 Z M 2 2 L 7 2 7 7 2 7 Z",
                 "M 0 0 L 5 0 5 5 0 5 0 0 5 0 5 5 0 5 Z", "M 0 0 L 1e-200 0 0 1e-200 Z", "M0,0 Q,", "m 5 5 z z z", "M 0 0 T T",
                 "M 0 0 L 9 0 4 0 9 0 9 9 Z", "é", "M 0 0 L 9 0 L 9 9 L 0 9 z " * 300, "M 0 0 " + "L 1 1 2 0 " * 30000 + "Z",
                 "M0 0" + "".join(f"L{i % 97} {i % 89}" for i in range(4000)) + "Z"):  # fmt: skip
        add(f"path {data[:30]!r}", drawing(f'<path d="{data}"/>'))
    for value in ("", "scale()", "scale(0)", "scale(1e300)", "scale(1e-300)", "rotate(nan)", "matrix(1 2 3)", "matrix(1 1 1 1 0 0)",
                  "translate(1e9)", "rotate(30", "skewX(90)", "skewY(89.99999999)", "scale(-1)", "scale(2) junk", "perspective(3)",
                  "scale(1" + "0" * 400 + ")", "rotate(1e308)", "translate(1 2 3 4)", "scale(,)", "none"):  # fmt: skip
        add(f"transform {value[:24]!r}", drawing(f'<g transform="{value}">{SHAPE}</g>'))
    deep = "<g>" * 5000 + SHAPE + "</g>" * 5000
    entity = (
        '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">'
        + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(9))
        + "]>"
    )
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    whole = drawing().decode()
    for name, content in (
        ("empty file", b""), ("not XML", b"hello"), ("HTML", b"<html><body>hi</body></html>"), ("truncated", drawing()[:-9]),
        ("NUL", drawing().replace(b"rect", b"re\0ct")), ("UTF-16", whole.encode("utf-16")), ("latin-1", b"\xe9" + drawing()),
        ("bad encoding", b'<?xml version="1.0" encoding="klingon"?>' + drawing()), ("gzip", gzip.compress(drawing())),
        ("UTF-7", b'<?xml version="1.0" encoding="utf-7"?>' + drawing()), ("deep", drawing(deep)),
        ("many elements", drawing(SHAPE * 30000)), ("many circles", drawing("".join(
            f'<circle cx="{i % 90 * 1.1:g}" cy="{i // 90 * 1.1:g}" r="0.4"/>' for i in range(8000)))),
        ("entities", entity.encode() + drawing("<title>&j;</title>" + SHAPE)), ("outside entity", outside.encode() + drawing("&x;")),
        ("outside document type", b'<!DOCTYPE svg SYSTEM "http://localhost:1/x.dtd">' + drawing()),
        ("script", drawing(f"<script>alert(1)</script>{SHAPE}")), ("foreignObject", drawing("<foreignObject/>" + SHAPE)),
        ("image", drawing('<image href="file:///etc/passwd"/>' + SHAPE)), ("use of itself", drawing('<g id="a"><use href="#a"/></g>')),
        ("use", drawing('<defs><rect id="r" width="9" height="9"/></defs><use href="#r"/>')), ("no shape", drawing("")),
        ("text", drawing("<text>hello</text>")), ("only defs", drawing(f"<defs>{SHAPE}</defs>")), ("hidden", drawing(
            '<rect width="9" height="9" display="none"/>')), ("clip", drawing('<rect width="9" height="9" clip-path="url(#a)"/>')),
        ("style sheet", drawing("<style>rect{display:none}</style>" + SHAPE)), ("inner svg", drawing(f"<svg>{SHAPE}</svg>")),
        ("switch", drawing(f"<switch>{SHAPE}</switch>")), ("marker", drawing(f"<marker>{SHAPE}</marker>")), ("symbol", drawing(
            f"<symbol>{SHAPE}</symbol>" + SHAPE)), ("crossing", drawing(SHAPE + '<rect x="30" y="20" width="50" height="40"/>')),
        ("touching", drawing(SHAPE + '<rect x="50" y="10" width="9" height="9"/>')), ("twice", drawing(SHAPE * 2)),
        ("no namespace", b'<svg width="10mm" height="10mm"><rect width="9" height="9"/></svg>'), ("other namespace", drawing().replace(
            b"2000/svg", b"1999/svg")), ("two tops", drawing() + drawing()), ("comment bomb", drawing("<!--" + "-x" * 10**6 + "-->" + SHAPE)),
        ("long attribute", drawing(f'<rect width="9" height="9" id="{"x" * 10**6}"/>')), ("5 MB", drawing("<!--" + "x" * 5 * 10**6 + "-->")),
        ("many attributes", drawing("<rect " + " ".join(f'a{i}="1"' for i in range(20000)) + ' width="9" height="9"/>')),
        ("controls in a name", drawing("<g id='&#x1b;[31m'>" + SHAPE + "</g>")), ("order in a value", drawing(
            '<rect width="&#10;::error::x" height="9"/>')), ("escape in a value", drawing('<rect width="&#x9b;31m" height="9"/>')),
        ("fill rule", drawing('<rect width="9" height="9" fill-rule="&#10;::set-output"/>')), ("unknown element", drawing("<blink/>" + SHAPE)),
    ):  # fmt: skip
        add(name, content)
    return [Trial(name, {"tag.yaml": DESIGN, "a.svg": content}, expects=expects) for name, content, expects in found]
