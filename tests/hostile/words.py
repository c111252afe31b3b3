"""Texts: names, notes, ids, with whatever may be in them."""

from __future__ import annotations

from tests.hostile.trial import Trial, changed, tag, text

TEXTS = {
    "line break": "a\nb", "carriage return": "a\rb", "escape": "\x1b[31mred\x1b[0m", "title sequence": "\x1b]0;owned\x07", "C1": "\x9b31m", "order": "\n::error::x", "order at the start": "::set-output name=a::b",
    "order, old": "##[error]x", "NUL": "a\0b", "bell": "\x07", "backspace": "abc\b\b\b", "delete": "\x7f", "U+2028": "a\u2028b", "U+2029": "a\u2029b", "U+FFFF": "a\uffffb", "U+FFFE": "a\ufffeb", "U+FDD0": "a\ufdd0b", "surrogate": "a\ud800b",
    "U+10FFFF": "\U0010ffff", "override": "\u202eabc\u202c", "isolate": "\u2066abc\u2069", "zero width": "a\u200bb\u200d", "BOM": "\ufeffa", "soft hyphen": "a\u00adb", "formula": "=1+1", "formula, plus": "+1+1", "formula, minus": "-1+1",
    "formula, at": "@SUM(1)", "formula, tab": "\t=1", "formula, pipe": "=cmd|' /C calc'!A0", "link formula": '=HYPERLINK("http://x","y")', "quote": 'a"b', "comma": "a,b", "semicolon": "a;b", "markup": "<b>bold</b>", "script": "<script>alert(1)</script>",
    "end of script": "</script><script>alert(1)</script>", "image": "<img src=x onerror=alert(1)>", "entity": "&lt;&amp;&#x41;", "CDATA": "]]>", "comment": "--><!--", "attribute": "\" onload=\"x", "apostrophe": "' OR 1=1 --", "JSON": '{"a": 1}', "format": "%s %n {0} {name} %(x)s",
    "template": "${x} $(x) `x`", "path": "../../etc/passwd", "path, absolute": "/etc/passwd", "path, Windows": "..\\..\\x", "option": "--out=/x", "emoji": "\U0001f600\U0001f468\u200d\U0001f469\u200d\U0001f467", "Arabic": "مصباح", "Hebrew": "מנורה", "Chinese": "灯笼", "Japanese": "ランタン",
    "Thai": "โคมไฟ", "Hindi": "लालटेन", "accents": "e\u0301" * 3, "stacked accents": "a" + "\u0301" * 500, "German": "Größenmaß", "Greek": "Λάμπα", "Russian": "Лампа", "Vietnamese": "Đèn lồng", "ligature": "ﬁ", "math": "𝔉𝔬𝔞𝔪", "private use": "\ue000", "10,000 letters": "x" * 10_000,
    "10,000 words": "ab " * 10_000, "one letter": "x", "empty": "", "blank": "   ", "ideographic blank": "\u3000", "backslash": "a\\b", "PDF string": "(a\\) Tj ET", "STEP string": "'); ENDSEC;", "DXF code": "a\n0\nEOF", "DXF escape": "%%c %%d \\P {\\fArial;x}", "URL": "javascript:alert(1)", "very long word": "W" * 400,
}  # fmt: skip

OUTPUTS = "cut_list,shopping_list,templates,template_files,sheets,model"


def trials() -> list[Trial]:
    found = []
    for name, words in TEXTS.items():
        design = changed(tag(note=words), "parts.tag.name", words)
        design = changed(design, "stock.foam.name", words)
        found.append(
            Trial(f"name and note of a part: {name}", {"tag.yaml": text(design)}, only="cut_list,shopping_list")
        )
        design = changed(changed(tag(), "name", words), "author", words)
        found.append(Trial(f"name of the design: {name}", {"tag.yaml": text(design)}))
    for name in (
        "line break",
        "escape",
        "order",
        "C1",
        "NUL",
        "path",
        "path, absolute",
        "formula",
        "option",
        "emoji",
        "Chinese",
        "10,000 letters",
        "empty",
        "blank",
    ):
        words = TEXTS[name]
        for where in ("parts", "sizes", "parameters", "stock", "forms"):
            design = tag()
            design[where] = {**design[where], words: next(iter(design[where].values()), {"kind": "loft"})}
            found.append(
                Trial(
                    f"id under {where}: {name}",
                    {"tag.yaml": text(design)},
                    expects="refused" if name != "x" else "either",
                )
            )
    for route, words in (("parts", "tag\n"), ("sizes", "small\n"), ("parameters", "length\n"), ("stock", "foam\n"), ("version", "1.0.0\n"), ("licence", "MIT\n"), ("stock.foam.colour", "#ffffff\n"),
                         ("version", "1.0.0-../../x"), ("version", "1.0.0+\x1b[31m"), ("version", "1.0.0-<script>"), ("licence", "../x"), ("version", "1.0.0-" + "x" * 10000), ("licence", "M" * 10000)):  # fmt: skip
        design = tag()
        if route in ("parts", "sizes", "parameters", "stock"):
            design[route] = {words if k == words.strip() else k: v for k, v in design[route].items()}
        else:
            design = changed(design, route, words)
        found.append(
            Trial(
                f"{route} {words[:20]!r}", {"tag.yaml": text(design)}, expects="refused" if "\n" in words else "either"
            )
        )
    for name in (
        "markup",
        "emoji",
        "Arabic",
        "Chinese",
        "override",
        "10,000 letters",
        "very long word",
        "U+FFFF",
        "formula",
        "PDF string",
        "DXF escape",
        "stacked accents",
    ):
        design = changed(
            changed(changed(tag(note=TEXTS[name]), "name", TEXTS[name]), "parts.tag.name", TEXTS[name]),
            "stock.foam.name",
            TEXTS[name],
        )
        found.append(Trial(f"everywhere, all tables and drawings: {name}", {"tag.yaml": text(design)}, only=OUTPUTS))
    return found
