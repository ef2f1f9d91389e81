"""The last line of a story, what is marked in the file, and what is said to change it."""

import re

import pytest

from behaviour.check.closing import breach_words
from behaviour.check.hints import with_hint
from behaviour.check.judging import Breach
from behaviour.check.run import Limits, check_model
from behaviour.findings import KIND, KINDS, Finding, Label, Severity
from behaviour.model import Always, AtMost, Becomes, Is, Model, Never, WayBack, Whenever
from behaviour.source import NOWHERE
from behaviour.telling import says_by_loop, tell
from tests.reading import FAULTY, model_in, model_of, source_of

LID_OPEN = Is("lid", ("open",))
LAMP = """\
    language: 1
    prop: Lamp
    loop: {loop}
    inputs: {{lid: {{kind: switch, values: [shut, open]}}}}
    outputs: {{lamp: {{kind: lamp, values: [dark, lit]}}}}
    regions: {{lamp_house: {{begins: idle, states: {{idle: {{}}}}}}}}
    """


def lamp(loop: str = "10 ms") -> Model:
    return model_of(LAMP.format(loop=loop))


@pytest.mark.parametrize(
    ("requirement", "breach", "words"),
    [
        (Never(condition=LID_OPEN), Breach(), "`lid is open` holds: it never may"),
        (Always(condition=LID_OPEN), Breach(), "`lid is open` does not hold: it always must"),
        (
            Never(condition=LID_OPEN, limit=40_000),
            Breach(5, 2, 4),
            "`lid is open` has now held for 50 ms, 20 ms of it sensing; 40 ms are allowed",
        ),
        (
            Never(condition=LID_OPEN, limit=40_000),
            Breach(7, 7, 4, too_slow=True),
            "`lid is open` had held for 70 ms before that could be known; 40 ms are allowed",
        ),
        (
            AtMost(condition=LID_OPEN, limit=1_000_000),
            Breach(101, 0, 100),
            "`lid is open` has now held for 1.01 s; 1 s is allowed",
        ),
        (
            AtMost(condition=LID_OPEN, limit=45_000),
            Breach(6, 0, 5),
            "`lid is open` has now held for 60 ms; 45 ms are allowed (50 ms in whole loops)",
        ),
        (
            Whenever(trigger=Becomes("lid", "open"), response=Is("lamp", ("lit",)), limit=100_000),
            Breach(11, 3, 10),
            (
                "no answer `lamp is lit` for 110 ms since `lid becomes open`, 30 ms of it sensing;"
                " 100 ms are allowed"
            ),
        ),
        (
            Whenever(trigger=Becomes("lid", "open"), response=Is("lamp", ("lit",)), limit=20_000),
            Breach(3, 3, 2, too_slow=True),
            (
                "`lid becomes open` is known only 30 ms after it came about; 20 ms are allowed for"
                " that"
            ),
        ),
    ],
)
def test_a_breach_is_told_with_its_times_in_whole_loops(requirement, breach, words):
    assert breach_words(lamp(), requirement, breach) == words


def test_times_are_those_of_the_file_s_own_loop():
    words = breach_words(lamp("25 ms"), AtMost(condition=LID_OPEN, limit=60_000), Breach(4, 0, 3))

    assert (
        words == "`lid is open` has now held for 100 ms; 60 ms are allowed (75 ms in whole loops)"
    )


LAST = {
    "bell-in-the-last-moment": r"no answer `chime is ring` for 110 ms since .*; 100 ms are allowed",
    "bubble-tub-looks-once": r"`wheel is turning and lid is open` has now held for 110 ms.*",
    "carousel-forgot-lid": r"`drum is not stopped and lid is open` has now held for 50 ms.*",
    "cauldron-stirs-on": r"`paddle` is `stirring`, and `lid` is `up`",
    "curtain-turns-at-once": r"`winder` has rested for \d+ ms of the 300 ms of its pause",
    "empty-comes-second": r"`tickets` would become -1; its bound is 0",
    "gives-up-too-soon": r"the time is up with `rope` still on its way to `up`",
    "hatch-and-arm-wait": r"from here on `hatch` never leaves `waiting`, whatever is done",
    "held-button-fires-again": r"`blaster` goes round with everybody standing still: .*",
    "homes-by-itself": r"`air` is `fold`, and nobody has done anything yet",
    "latch-and-wheel-race": r"`wheel_drive is on and latch_coil is free` holds: it never may",
    "never-loaded-again": r"from here `popper in pop` cannot come about any more",
    "only-the-first-show": r"from here `cabinet` can never come back to `idle`, whatever is done",
    "press-again-runs-longer": r"`pump is on` has now held for 5.02 s; 5 s are allowed",
    "purse-without-a-bottom": r"`coins` would become 4; its bound is 3",
    "slow-lid-filter": r"`blower is on and lid is open` had held for \d+ ms before that could .*",
}


@pytest.mark.parametrize("name", LAST)
def test_the_first_story_of_a_faulty_prop_ends_with_what_is_wrong(name):
    model = model_in(source_of(f"specs/faulty/{name}.yaml"))

    found = next(
        each
        for each in check_model(model, Limits(60)).findings
        if each.run is not None and each.severity is Severity.BROKEN
    )

    assert found.run is not None
    last = tell(model, found.run)[-1]
    assert re.fullmatch(rf" *\d+\.\d\d s  {LAST[name]}", last)
    words = last.strip().split(" s  ", 1)[1]
    assert says_by_loop(model, found.run)[len(found.run.stimuli) - 1].endswith(words)


def found_in(name: str, kind: str, rule: str | None = None) -> Finding:
    model = model_in(source_of(f"specs/faulty/{name}.yaml"))
    return next(
        each
        for each in check_model(model, Limits(60)).findings
        if each.kind.name == kind and each.rule == rule
    )


def test_a_broken_rule_marks_what_drives_the_output_and_the_rule_beside_it():
    source = source_of("specs/faulty/carousel-forgot-lid.yaml")

    found = found_in("carousel-forgot-lid", "rule-broken", "nothing turns under an open lid")

    span = found.at.span
    assert source.line(span.line)[span.column - 1 : span.end_column - 1] == "drum: forward"
    assert found.at.text == "`drum` is driven here, and nothing in this state looks at `lid`"
    assert [
        (label.text, source.line(label.span.line).count("never:")) for label in found.related
    ] == [("the rule", 1)]
    assert found.place == ("carousel", "turn")
    assert found.message == "`drum is not stopped and lid is open` can hold for longer than 40 ms"
    assert found.hint == (
        "an interlock `{when: lid is open, go: ...}` in `carousel` stops `drum` within one loop"
    )


def test_a_kept_output_is_marked_where_it_is_declared():
    found = found_in("kept-valve", "rule-broken", "no water while the stop is in")

    assert found.at.text == "this keeps its last value where no state sets it"
    assert found.hint == ("leave out `keeps: yes`, and `water` is `shut` wherever no state sets it")


def test_a_time_that_a_state_starts_anew_is_to_be_counted_around_it():
    found = found_in(
        "press-again-runs-longer", "rule-broken", "never more than five seconds of fog"
    )

    assert found.at.text == "`pump` is driven here"
    assert found.hint == (
        "a shorter time in `fogging`, or one on a state around it, which entering `fogging` again"
        " does not start anew"
    )


def test_where_nothing_drives_the_rule_itself_is_marked():
    answered = found_in("bell-in-the-last-moment", "rule-broken", "every ring is answered")
    back = found_in("never-loaded-again", "rule-broken", "there is always another shot")

    assert answered.at.text == "the answer can come too late, or not at all"
    assert back.message == "`popper in pop` can get out of reach for good"
    assert back.related == answered.related == ()


def test_sensing_that_takes_too_long_points_at_the_input():
    found = found_in("slow-lid-filter", "sensing-too-slow", "the blower stops under an open lid")

    assert [label.text for label in found.related] == ["this has to be sensed first"]
    assert found.related[0].span.line == 8


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_kind_of_finding_says_what_could_be_changed(kind):
    bare = Finding(kind=kind, severity=kind.severity, message="", at=Label(NOWHERE, ""))

    assert with_hint(lamp(), bare).hint != ""


def test_a_hint_that_a_check_gave_itself_is_kept():
    found = Finding(
        kind=KIND["unused"],
        severity=Severity.NOTE,
        message="",
        at=Label(NOWHERE, ""),
        hint="use it",
    )

    assert with_hint(lamp(), found) is found


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_every_finding_of_a_faulty_prop_says_what_could_be_changed(path):
    model = model_in(source_of(f"specs/faulty/{path.name}"))

    assert [f.kind.name for f in check_model(model, Limits(60)).findings if not f.hint] == []


def test_a_way_back_is_told_as_out_of_reach():
    assert breach_words(lamp(), WayBack(condition=LID_OPEN), Breach()) == (
        "`lid is open` is out of reach"
    )
