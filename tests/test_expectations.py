"""The `# must find:` lines of faulty demo props are read as they are meant, or refused."""

import pytest

from tests.expectations import ExpectationError, Expected, read_expectations


def test_a_name_alone_expects_the_finding_anywhere():
    assert read_expectations("# must find: runaway\nlanguage: 1\n") == (Expected("runaway"),)


def test_a_place_and_a_rule_are_read_with_the_name():
    text = (
        "# must find: dead-end in hatch.waiting\n"
        '# must find: rule-broken rule "nothing turns under an open lid"\n'
        "language: 1\n"
    )

    assert read_expectations(text) == (
        Expected("dead-end", ("hatch", "waiting")),
        Expected("rule-broken", rule="nothing turns under an open lid"),
    )


def test_other_comments_at_the_head_are_passed_over():
    text = "# a prop with one fault\n# must find: unused\nlanguage: 1\n# must be painted red\n"

    assert read_expectations(text) == (Expected("unused"),)


def test_a_file_without_marks_expects_nothing():
    assert read_expectations("language: 1\nprop: Lantern\n") == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("# must find: run-away\n", "line 1: there is no finding `run-away`"),
        ("#must find: runaway\n", "line 1: write `# must find: NAME"),
        ("# must find: runaway in hatch\n", "line 1: write `# must find: NAME"),
        ("# must find: runaway in hatch.up rule hatch\n", "line 1: write `# must find: NAME"),
        ("language: 1\n# must find: runaway\n", "line 2: `# must find:` stands below the head"),
        ("prop: x  # must find: runaway\n", "line 1: `# must find:` stands below the head"),
        ("# must find: unused\n# must find: unused\n", "line 2: this finding is expected already"),
    ],
)
def test_a_line_that_cannot_be_meant_is_refused(text, message):
    with pytest.raises(ExpectationError) as refused:
        read_expectations(text)

    assert str(refused.value).startswith(message)


def test_what_is_left_open_is_met_by_anything():
    expected = Expected("runaway")

    assert expected.is_met_by("runaway", ("hoist", "raise"), None)
    assert not expected.is_met_by("deaf", ("hoist", "raise"), None)


def test_what_is_named_must_be_the_same():
    placed = Expected("deaf", ("curtain", "opening"))
    ruled = Expected("rule-broken", rule="short breaths")

    assert placed.is_met_by("deaf", ("curtain", "opening"), None)
    assert not placed.is_met_by("deaf", ("curtain", "closing"), None)
    assert not placed.is_met_by("deaf", None, None)
    assert ruled.is_met_by("rule-broken", None, "short breaths")
    assert not ruled.is_met_by("rule-broken", None, "long breaths")
