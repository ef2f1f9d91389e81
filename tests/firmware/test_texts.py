"""Texts of a file, made to break out of a comment, never become code or break a line."""

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from behaviour.fingerprint import fingerprint
from behaviour.model import Model, State, Transition
from codegen.cwriter import safe_words
from codegen.emit import EmittedFile, emit
from codegen.keep import write_files
from tests.firmware.compilers import WARNINGS, run
from tests.firmware.props import NESTED, TIMING

NASTY = st.lists(
    st.one_of(
        st.sampled_from(
            [
                *("*/", "/*", "*", "/", "//", "??/", "??", "?", "\\", "\\\n", "\n", "\r", "\t"),
                *("\x00", "\x0b", "\x1b[31m", "\x85", "\u2028", "\u202e", "\u2066", "\ufeff"),
                *("\ud800", '"', "'", "#error no", "\n#error no\n", "*/ int stray; /*", "é"),
                *("|", "<script>", "-->", "`", "](x)", "&lt;", "%s", "${x}", "\U0001f600"),
            ]
        ),
        st.text(max_size=6),
    ),
    max_size=12,
).map("".join)


def said_everywhere(model: Model, text: str) -> Model:
    """Put one text wherever a file may hold any."""

    def way(found: Transition) -> Transition:
        return replace(found, about=text)

    def state(found: State) -> State:
        return replace(
            found,
            about=text,
            operator=text,
            leave=tuple(map(way, found.leave)),
            interlocks=tuple(map(way, found.interlocks)),
            cues=tuple(replace(cue, about=text) for cue in found.cues),
            end=None if found.end is None else way(found.end),
        )

    return replace(
        model,
        prop=text,
        about=text,
        show=(("call", text),),
        inputs=tuple(replace(item, about=text) for item in model.inputs),
        outputs=tuple(replace(item, about=text) for item in model.outputs),
        counters=tuple(replace(item, about=text) for item in model.counters),
        regions=tuple(
            replace(
                region,
                about=text,
                states=tuple(map(state, region.states)),
                interlocks=tuple(map(way, region.interlocks)),
            )
            for region in model.regions
        ),
    )


def code_of(files: tuple[EmittedFile, ...], directory: Path) -> str:
    """Give the C as the compiler sees it without comments; it must not have complained."""
    write_files(directory, files)
    sources = ["any.c", "any_trace.c", "any_board.c", "main.c"]
    done = run(["gcc", "-std=c99", *WARNINGS, "-E", "-P", *sources], directory / "any")
    assert done.stderr == ""
    assert done.returncode == 0
    return done.stdout


@settings(max_examples=60)
@given(model=st.sampled_from([NESTED, TIMING]), text=NASTY, name=NASTY)
def test_no_text_changes_the_code_around_it(model: Model, text: str, name: str) -> None:
    nasty = replace(said_everywhere(model, text), firmware_name="any")
    with TemporaryDirectory() as place:
        found = code_of(emit(nasty, f"{name}.yaml", "host", [text]), Path(place))
    assert _nameless(found, nasty) == plain_code(model)


@cache
def plain_code(model: Model) -> str:
    plain = replace(model, firmware_name="any")
    with TemporaryDirectory() as place:
        return _nameless(code_of(emit(plain, "any.yaml", "host"), Path(place)), plain)


def _nameless(code: str, model: Model) -> str:
    """Take out the fingerprint, which is of the texts too."""
    return code.replace(fingerprint(model), "")


@settings(max_examples=60)
@given(text=NASTY, name=NASTY)
def test_no_text_changes_the_code_for_a_board(text: str, name: str) -> None:
    nasty = replace(said_everywhere(NESTED, text), firmware_name="any")
    files = emit(nasty, f"{name}.yaml", "uno", [text])
    for file, (path, code) in zip(files, plain_files(), strict=True):
        assert file.path == path
        if not is_sheet(file):
            assert commentless(_without_fingerprint(file.text, nasty)) == code


@cache
def plain_files() -> tuple[tuple[str, str], ...]:
    plain = replace(NESTED, firmware_name="any")
    return tuple(
        (file.path, "" if is_sheet(file) else commentless(_without_fingerprint(file.text, plain)))
        for file in emit(plain, "any.yaml", "uno")
    )


def is_sheet(file: EmittedFile) -> bool:
    return file.path.endswith(".md")


def commentless(text: str) -> str:
    """Take comments out as a compiler does, and know nothing of what is in them."""
    for line in text.splitlines():
        assert "??" not in line
        assert not line.endswith("\\") or line.startswith(("#define", "    "))
    return re.sub(r"\s+", " ", re.sub(r"/\*.*?\*/", " ", text, flags=re.DOTALL))


def _without_fingerprint(text: str, model: Model) -> str:
    digits = fingerprint(model)
    return text.replace(digits, "").replace(digits.replace("-", "").upper(), "")


@settings(max_examples=200)
@given(NASTY)
def test_a_text_in_the_sheet_stays_on_its_line_and_is_no_markup(text: str) -> None:
    found = sheet_with(text)
    blank = not safe_words(text).strip()
    assert blank or len(found.splitlines()) == len(plain_sheet().splitlines())
    assert "<script>" not in found
    assert found.count("-->") == 1
    rows = [line for line in found.splitlines() if line.startswith("| show")]
    assert all(row.replace("\\|", "").count("|") == 5 for row in rows)


def test_a_comment_keeps_what_it_can_of_a_text() -> None:
    assert safe_words("two  words\n and\ta tab") == "two words and a tab"
    assert safe_words("Tür auf, 5 µs, 日本") == "Tür auf, 5 µs, 日本"
    assert safe_words("end */ begin /* all **/") == "end * / begin / * all ** /"
    assert safe_words("what??/ C:\\new") == "what? ?/ C:/new"
    assert safe_words("*\\") == "* /"
    assert safe_words("a\u202eb\x00c\ud800d") == "a?b?c?d"
    assert safe_words("????") == "? ? ? ?"
    assert safe_words("*/*/") == "* / * /"


def sheet_with(text: str) -> str:
    model = said_everywhere(replace(NESTED, firmware_name="any"), text)
    return next(file.text for file in emit(model, "any.yaml", "host", [text]) if is_sheet(file))


@cache
def plain_sheet() -> str:
    return sheet_with("words")
