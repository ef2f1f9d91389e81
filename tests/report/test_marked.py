"""Marks stand under what they mark, whatever the line holds."""

from behaviour.findings import Label
from behaviour.report.marked import marked_lines
from behaviour.source import NOWHERE, Source, Span


def marked(text: str, span: Span, words: str = "here") -> list[str]:
    return list(marked_lines(Source("x.yaml", text), (Label(span, words),)))


def test_a_mark_lies_under_its_columns():
    assert marked("go: idle\n", Span(1, 5, 1, 9)) == ["1 | go: idle", "  |     ^^^^ here"]


def test_an_empty_span_is_one_mark_wide():
    assert marked("go:\n", Span(1, 4, 1, 4)) == ["1 | go:", "  |    ^ here"]


def test_a_span_over_several_lines_is_marked_to_the_end_of_its_first():
    assert marked("a: [1,\n  2]\n", Span(1, 4, 2, 5)) == ["1 | a: [1,", "  |    ^^^ here"]


def test_wide_characters_and_tabs_keep_the_mark_in_place():
    assert marked("箱: x\n", Span(1, 4, 1, 5)) == ["1 | 箱: x", "  |     ^ here"]
    assert marked("a\t: x\n", Span(1, 5, 1, 6)) == ["1 | a\t: x", "  |  \t  ^ here"]


def test_characters_that_would_steer_a_terminal_are_not_printed():
    assert marked("a: \x1b[2J\n", Span(1, 1, 1, 2))[0] == "1 | a: \ufffd[2J"


def test_a_very_long_line_is_cut_to_what_stands_round_the_mark():
    text = "x" * 500 + "HERE" + "y" * 500

    line, mark = marked(text, Span(1, 501, 1, 505))

    assert len(line) < 160
    assert line.index("HERE") == mark.index("^")
    assert mark.count("^") == 4


def test_line_numbers_are_as_wide_as_the_widest():
    text = "\n" * 9 + "last\n"
    labels = (Label(Span(10, 1, 10, 5), "b"), Label(Span(1, 1, 1, 1), "a"))

    assert list(marked_lines(Source("x", text), labels)) == [
        "10 | last",
        "   | ^^^^ b",
        " 1 | ",
        "   | ^ a",
    ]


def test_what_stands_nowhere_gives_no_line():
    assert marked("a\n", NOWHERE) == []
