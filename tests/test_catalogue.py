"""The message catalogue: every sentence of the code stands in every language, with the same placeholders, and uses the
words of `terms.md`.

What stands in the code is found by Babel, a general library, and not by the program's own means.
"""

import ast
import gettext
import re
import string
from io import BytesIO
from pathlib import Path

import pytest
import yaml
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po

import foamwright
from foamwright.language import (
    LANGUAGES,
    Length,
    Reader,
    Saying,
    count,
    decimal,
    inches,
    length,
    lengths,
    reading,
    say,
)

PACKAGE = Path(foamwright.__file__).parent
LOCALE = PACKAGE / "locale"
KEYWORDS = {"say": None, "phrase": None, "count": (1, 2), "count_of": (1, 2)}
OTHERS = [language for language in LANGUAGES if language != "en"]


@pytest.fixture(scope="module")
def in_code():
    """Messages of the code: a sentence, or (one, many)."""
    methods = [("**.py", "python"), ("**/pages/*.html", "jinja2")]
    found = extract_from_dir(
        str(PACKAGE), methods, keywords=KEYWORDS, options_map={"**/pages/*.html": {"silent": "no"}}
    )
    return {tuple(message) if isinstance(message, (tuple, list)) else message for _, _, message, _, _ in found}


@pytest.fixture(scope="module")
def nodes():
    """Every call and f-string of the code, with the file that it stands in."""
    trees = ((path, ast.parse(path.read_text("utf-8"))) for path in sorted(PACKAGE.rglob("*.py")))
    return [
        (path, node) for path, tree in trees for node in ast.walk(tree) if isinstance(node, ast.Call | ast.JoinedStr)
    ]


def catalogue(path):
    with path.open("rb") as stream:
        return {message.id: message for message in read_po(stream) if message.id}


def fields(text):
    return sorted({name for _, name, _, _ in string.Formatter().parse(text) if name})


def test_the_template_holds_every_message_of_the_code(in_code):
    assert len(in_code) > 400
    assert in_code == set(catalogue(LOCALE / "foamwright.pot"))


def test_what_stands_inside_an_f_string_is_in_the_template_too(nodes):
    # before Python 3.12 an f-string is one token, and what finds the messages sees none of those inside
    known = set(catalogue(LOCALE / "foamwright.pot"))
    inside = {
        node.args[0].value
        for _, joined in nodes
        if isinstance(joined, ast.JoinedStr)
        for node in ast.walk(joined)
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("say", "phrase")
        if isinstance(node.args[0], ast.Constant)
    }
    assert inside and inside <= known


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_stands_in_every_language_with_its_placeholders(language, in_code):
    po = catalogue(LOCALE / language / "LC_MESSAGES" / "foamwright.po")
    assert set(po) == in_code
    for key, message in po.items():
        assert not message.fuzzy, key
        if isinstance(key, tuple):
            assert len(message.string) == 2 and all(message.string), key
            for source, said in zip(key, message.string):
                assert fields(said) == fields(source), key
        else:
            assert message.string and fields(message.string) == fields(key), key


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_read_at_run_time_is_what_was_translated(language):
    folder = LOCALE / language / "LC_MESSAGES"
    read = gettext.GNUTranslations(BytesIO((folder / "foamwright.mo").read_bytes()))
    for key, message in catalogue(folder / "foamwright.po").items():
        if isinstance(key, tuple):
            assert (read.ngettext(*key, 1), read.ngettext(*key, 2)) == message.string
        else:
            assert read.gettext(key) == message.string


def test_no_sentence_is_made_outside_of_the_catalogue(nodes):
    """An f-string as the sentence would be translated as nothing: its value is no key."""
    for path, node in nodes:
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("say", "phrase"):
            assert not isinstance(node.args[0], ast.JoinedStr), f"{path}:{node.lineno}"


def test_the_chosen_language_speaks():
    with reading(Reader("de")):
        assert say("Shopping list") == "Einkaufsliste"
        assert count("{n} dart", "{n} darts", 2) == "2 Abnäher"
        assert decimal(3.5, 1) == "3,5"
    assert say("Shopping list") == "Shopping list"
    with pytest.raises(ValueError, match="language one of en, de"):
        Reader("xx")


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (25.4, "1 in"),
        (3.175, "1/8 in"),
        (117.5, "4 5/8 in"),  # 4.626: nearest sixteenth is 4 10/16
        (0.5, "0.02 in"),  # less than the first mark of the rule
        (0.1, "0.004 in"),
        (0.0, "0 in"),
        (1.0, "1/16 in"),
        (304.8, "12 in"),
        (25.4 * 15.99, "16 in"),
        (-12.7, "-1/2 in"),
    ],
)
def test_inches_to_a_sixteenth(mm, words):
    """One inch is 25.4 mm exactly (international yard and pound agreement of 1959)."""
    assert inches(mm) == words
    assert (
        abs(mm / 25.4 - sum(map(float_of, words.removesuffix(" in").lstrip("-").split())) * (-1) ** (mm < 0)) <= 1 / 32
    )


def float_of(text):
    top, _, bottom = text.partition("/")
    return float(top) / float(bottom or 1)


@pytest.mark.parametrize(
    ("reader", "words"),
    [
        (Reader("en", "both"), "Set the gaps of 45.6 mm (1 13/16 in) with spacer C."),
        (Reader("de"), "Die Lücken von 45,6 mm mit dem Abstandshalter C einstellen."),
    ],
)
def test_what_a_kind_says_of_a_part_is_kept_and_said_to_whoever_reads(reader, words):
    note = Saying("Set the gaps of {gap} with spacer {label}.", (("gap", Length(45.6, 1)), ("label", "C")))
    with reading(reader):
        assert str(note) == words


def test_lengths_in_the_units_of_the_reader():
    with reading(Reader("en", "inch")):
        assert length(118.0) == "4 5/8 in"
        assert lengths((70.0, 44.0)) == "2 3/4 x 1 3/4 in"
    with reading(Reader("en", "both")):
        assert length(118.0) == "118 mm (4 5/8 in)"


# Terms


def discouraged():
    """The last column of the table, each with the words to use instead."""
    rows = [
        line.strip("|").split("|") for line in (LOCALE / "terms.md").read_text("utf-8").splitlines() if line[:1] == "|"
    ]
    return {word.strip(): row[0].strip() for row in rows[2:] for word in row[3].split(",") if word.strip()}


def read_by_makers():
    """(where, text) of all that a maker reads: catalogue, README, designs, schema, reference."""
    root = PACKAGE.parents[1]
    for key in catalogue(LOCALE / "foamwright.pot"):
        yield "catalogue", " ".join(key) if isinstance(key, tuple) else key
    yield "README.md", (root / "README.md").read_text("utf-8")
    yield "REFERENCE.md", (root / "designs" / "REFERENCE.md").read_text("utf-8")
    yield "schema.json", (root / "designs" / "schema.json").read_text("utf-8")
    for path in [*sorted((root / "designs").glob("*.yaml")), PACKAGE / "design" / "starter.yaml"]:
        for text in texts(yaml.safe_load(path.read_text("utf-8"))):
            yield path.name, text


def texts(node):
    if isinstance(node, dict):
        for key, value in node.items():
            if key in ("note", "title", "summary", "measure", "name", "text", "paint") and isinstance(value, str):
                yield value
            else:
                yield from texts(value)
    elif isinstance(node, list):
        for value in node:
            yield from texts(value)


def test_no_discouraged_word_is_read_by_a_maker():
    words = discouraged()
    assert len(words) > 15 and "through draught" in words
    found = [
        f"{where}: {word!r}, say {instead!r}"
        for where, text in read_by_makers()
        for word, instead in words.items()
        if re.search(rf"\b{re.escape(word)}\b", text, re.IGNORECASE)
    ]
    assert not found, "\n".join(found)


def test_no_sentence_is_missed_by_the_extraction(in_code, nodes):
    """What stands within another call's arguments may be passed over: every literal that is said is looked up."""
    known = {text for message in in_code for text in (message if isinstance(message, tuple) else (message,))}
    missed = []
    for path, node in nodes:
        said = isinstance(node, ast.Call) and getattr(node.func, "id", "") in KEYWORDS and bool(node.args)
        text = node.args[0] if said else None
        if isinstance(text, ast.Constant) and text.value not in known:
            missed.append(f"{path.name}:{node.lineno}: {text.value}")
    assert missed == []
