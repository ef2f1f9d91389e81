"""What a state diagram says, taken apart by Graphviz, and what it must never depend on."""

import re
from dataclasses import replace

import pytest

from behaviour.draw.state_diagram import dot_text
from behaviour.findings import KIND, Finding, Label, Severity
from behaviour.model import Model
from behaviour.source import NOWHERE, Span
from tests.carousel import CAROUSEL
from tests.draw.drawn import taken_apart
from tests.reading import FAULTY, ROOT, SPECS, model_in, model_of, spec

NESTED = """\
    language: 1
    prop: Winch figure
    about: A figure rises out of the smoke.
    loop: 10 ms
    inputs:
      stop: {kind: button, steady: 20 ms}
      go_on: {kind: button, steady: 20 ms}
    outputs:
      winch: {kind: motor, values: [still, up, down]}
      fog: {kind: relay, values: [off, on]}
    counters:
      cheers: {from: 0, to: 9, begins: 0}
    regions:
      figure:
        begins: asleep
        states:
          asleep:
            leave: [{when: go_on becomes pressed, go: show_time}]
          show_time:
            about: From the first smoke to the hold.
            set: {fog: on}
            interlocks: [{when: stop is pressed, go: stopped}]
            leave:
              - {when: go_on becomes pressed and cheers < 9, do: add 1 to cheers, go: stay}
              - {after: 1 min, go: asleep}
            begins: rising
            states:
              rising:
                set: {winch: up}
                leave: [{after: 8 s, go: holding}]
              holding:
                leave: [{after: 3 s to 5 s, go: asleep}]
          stopped:
            lockout: yes
            operator: "Stopped. Switch it off."
"""


def finding(
    name: str,
    place: tuple[str, str] | None = None,
    span: Span = NOWHERE,
    severity: Severity | None = None,
    rule: str | None = None,
) -> Finding:
    kind = KIND[name]
    return Finding(
        kind=kind,
        severity=severity or kind.severity,
        message="a message",
        at=Label(span, ""),
        place=place,
        rule=rule,
    )


def test_each_state_says_what_it_sets_and_what_is_told():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))

    assert drawn.words("state carousel turn") == "turn drum forward lamp amber"
    assert drawn.words("state carousel jammed") == (
        "jammed lamp red “Jammed. Hold the trigger for three seconds.”"
    )


def test_cues_are_read_in_their_state():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))

    assert drawn.words("state carousel shot") == (
        "shot lamp amber at 100 ms valve open at 250 ms valve shut at 600 ms the end"
    )
    assert drawn.arrows("state carousel shot", "state carousel idle") == [
        "at the end do take 1 from loaded"
    ]


def test_arrows_carry_their_condition_and_their_place_in_the_written_order():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))

    assert drawn.arrows("state carousel idle", "state carousel turn") == [
        "1. trigger becomes pressed and loaded > 0"
    ]
    assert drawn.arrows("state carousel idle", "state carousel empty") == [
        "2. trigger becomes pressed"
    ]
    assert drawn.arrows("state carousel turn", "state carousel jammed") == ["2. after 1.5 s"]


def test_an_interlock_is_drawn_once_and_not_from_every_state():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))
    interlocks = [name for name in drawn.nodes if name.startswith("interlock")]
    to_lid_open = [tail for tail, head, _ in drawn.edges if head == "state carousel lid_open"]

    assert len(interlocks) == 1
    assert drawn.words(interlocks[0]) == "interlock, from everywhere in carousel: lid is open"
    assert to_lid_open == interlocks


def test_an_interlock_of_a_lone_state_is_an_arrow_from_it():
    model = model_of("""\
        language: 1
        prop: Lone
        loop: 10 ms
        inputs: {stop: {kind: button}}
        outputs: {lamp: {kind: lamp, values: [dark, lit]}}
        regions:
          line:
            begins: here
            states:
              here: {set: {lamp: lit}, interlocks: [{when: stop is pressed, go: there}]}
              there: {leave: [{when: stop is released, go: here}]}
        """)

    drawn = taken_apart(dot_text(model))

    assert drawn.arrows("state line here", "state line there") == ["interlock: stop is pressed"]
    assert not [name for name in drawn.nodes if name.startswith("interlock")]


def test_only_states_that_drive_a_hazard_have_the_heavy_double_border():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))
    heavy = {name for name, node in drawn.nodes.items() if node.get("peripheries") == "2"}

    assert heavy == {"state carousel turn", "state carousel shot"}
    assert {drawn.nodes[name]["penwidth"] for name in heavy} == {"2.4"}


def test_a_thick_bar_points_to_where_each_frame_begins():
    drawn = taken_apart(dot_text(model_of(NESTED)))
    pointed = {tail: (head, edge["penwidth"]) for tail, head, edge in drawn.edges if "bar" in tail}

    assert pointed == {
        "bar figure": ("state figure asleep", "3"),
        "bar figure show_time": ("state figure rising", "3"),
    }


def test_nested_states_stand_in_a_box_in_the_frame_of_their_region():
    drawn = taken_apart(dot_text(model_of(NESTED)))

    assert drawn.frames["cluster figure"]["label"] == "figure\\l"
    assert drawn.frames["cluster figure show_time"]["style"] == "rounded"
    assert {
        name for name in drawn.inside["cluster figure show_time"] if name.startswith("state")
    } == {"state figure show_time", "state figure rising", "state figure holding"}
    assert "interlock figure 1" in drawn.inside["cluster figure show_time"]
    assert "state figure stopped" not in drawn.inside["cluster figure show_time"]


def test_a_box_says_what_it_sets_and_does_for_all_of_its_states():
    drawn = taken_apart(dot_text(model_of(NESTED)))

    assert drawn.words("state figure show_time") == (
        "From the first smoke to the hold. fog on"
        " 1. go_on becomes pressed and cheers < 9, add 1 to cheers: stay"
        " from everywhere in show_time:"
    )
    assert drawn.arrows("state figure show_time", "state figure asleep") == ["2. after 1 min"]


def test_what_is_set_around_a_state_stands_in_it_in_brackets_and_counts_as_hazard():
    drawn = taken_apart(dot_text(model_of(NESTED)))

    assert drawn.words("state figure holding") == "holding (fog on)"
    assert drawn.nodes["state figure holding"]["peripheries"] == "2"


def test_an_arrow_to_a_state_with_states_inside_ends_at_its_bar():
    drawn = taken_apart(dot_text(model_of(NESTED)))

    assert drawn.arrows("state figure asleep", "bar figure show_time") == ["go_on becomes pressed"]


def test_a_lockout_says_so():
    drawn = taken_apart(dot_text(model_of(NESTED)))

    assert "lockout: only switching off leaves it" in drawn.words("state figure stopped")


def test_the_mechanism_is_a_dashed_frame_with_its_windows():
    drawn = taken_apart(dot_text(model_in(CAROUSEL)))

    assert drawn.frames["cluster drum_position"]["style"] == "dashed"
    assert drawn.frames["cluster drum_position"]["label"] == (
        "mechanism drum_position (begins anywhere)\\l"
    )
    assert drawn.arrows("state drum_position between", "state drum_position at_tube") == [
        "while drum is not stopped takes 250 ms to 400 ms"
    ]
    assert drawn.words("state drum_position at_tube") == "at_tube mark reads made"


def test_a_finding_is_a_black_flag_on_its_state():
    findings = [finding("dead-end", ("carousel", "jammed"))]

    drawn = taken_apart(dot_text(model_in(CAROUSEL), findings))

    flag = "flag of state carousel jammed"
    assert drawn.words(flag) == "broken: dead-end"
    assert (drawn.nodes[flag]["fillcolor"], drawn.nodes[flag]["fontcolor"]) == (
        "#1a1a1a",
        "#ffffff",
    )
    assert (flag, "state carousel jammed") in [(tail, head) for tail, head, _ in drawn.edges]


def test_a_doubtful_finding_has_a_white_flag_and_the_worst_stands_first():
    findings = [
        finding("never-reached", ("carousel", "jammed")),
        finding("rule-broken", ("carousel", "turn"), rule="the drum never runs away"),
        finding("deaf", ("carousel", "turn")),
    ]

    drawn = taken_apart(dot_text(model_in(CAROUSEL), findings))

    assert drawn.nodes["flag of state carousel jammed"]["fillcolor"] == "#ffffff"
    assert drawn.words("flag of state carousel turn") == (
        "broken: the drum never runs away doubtful: deaf"
    )


def test_a_finding_that_points_at_a_transition_is_laid_on_its_arrow():
    model = model_in(CAROUSEL)
    idle = next(state for state in model.region["carousel"].states if state.name == "idle")
    findings = [finding("never-taken", ("carousel", "idle"), span=idle.leave[1].span)]

    drawn = taken_apart(dot_text(model, findings))

    assert drawn.arrows("state carousel idle", "state carousel empty") == [
        "2. trigger becomes pressed doubtful: never-taken"
    ]
    assert not [name for name in drawn.nodes if name.startswith("flag")]


def test_a_finding_about_nothing_drawn_stands_below_the_picture():
    drawn = taken_apart(dot_text(model_in(CAROUSEL), [finding("no-way-back")]))

    assert drawn.frames["cluster_legend"]["label"].startswith("broken: no-way-back\\l")


def chain(length: int) -> Model:
    states = "".join(
        f"          s{number}: {{leave: ["
        f"{{when: on_cue becomes pressed, go: s{(number + 1) % length}}}, {{after: 30 s, go: s0}}"
        "]}\n"
        for number in range(length)
    )
    return model_of(
        "    language: 1\n    prop: Long\n    loop: 10 ms\n"
        "    inputs:\n      on_cue: {kind: button}\n"
        "    outputs:\n      lamp: {kind: lamp, values: [dark, lit]}\n"
        f"    regions:\n      line:\n        begins: s0\n        states:\n{states}\n"
    )


def test_where_many_arrows_would_lead_to_one_state_they_are_written_out():
    drawn = taken_apart(dot_text(chain(9)))

    assert drawn.words("state line s3") == "s3 2. after 30 s: go s0"
    assert drawn.arrows("state line s3", "state line s4") == ["1. on_cue becomes pressed"]
    assert drawn.arrows("state line s3", "state line s0") == []


def test_a_long_picture_goes_on_in_further_columns():
    drawn = taken_apart(dot_text(chain(40)))

    assert drawn.words("state line s9") == (
        "s9 1. on_cue becomes pressed: go s10 2. after 30 s: go s0"
    )
    assert len([name for name in drawn.nodes if name.startswith("words")]) == 36


def test_text_from_the_file_cannot_become_layout():
    hostile = 'Drum "A" \\N \\l <b>&amp; {x|y} -> //'
    model = replace(model_in(CAROUSEL), prop=hostile, about=f"<{hostile}>")

    drawn = taken_apart(dot_text(model))

    assert drawn.nodes.keys() == taken_apart(dot_text(model_in(CAROUSEL))).nodes.keys()
    assert "\\\\N \\\\l <b>&amp;amp; {x|y}" in drawn.frames["cluster_about"]["label"]


@pytest.mark.parametrize("path", [*SPECS, *FAULTY], ids=lambda path: path.stem)
def test_every_prop_draws_with_six_digit_colours_and_every_state_in_it(path):
    model = spec(str(path.relative_to(ROOT)))
    dot = dot_text(model)
    drawn = taken_apart(dot)
    expected = {
        f"state {region.name} {state.name}"
        for region in model.regions
        for state in region.states
        if not state.children
    }

    assert set(re.findall(r"#[0-9A-Za-z]*", dot)) <= {"#1a1a1a", "#ffffff", "#e9e9e9"}
    assert expected <= drawn.nodes.keys()
    assert dot == dot_text(spec(str(path.relative_to(ROOT))))


def test_what_is_not_known_yet_is_drawn_as_such():
    model = model_of("""\
        language: 1
        prop: Open
        loop: 10 ms
        inputs: {go_on: {kind: button}}
        outputs: {lamp: {kind: lamp, values: [dark, lit]}}
        regions:
          line:
            about: The line of the lamp.
            begins: here
            states:
              here:
                leave: [{when: go_on is pressed, go: unknown}, {after: unknown, go: there}]
              there: {set: {lamp: lit}, leave: [{go: here}]}
        """)

    drawn = taken_apart(dot_text(model))

    assert drawn.arrows("state line here", "unknown line 0") == ["1. go_on is pressed"]
    assert drawn.words("unknown line 0") == "unknown"
    assert drawn.arrows("state line here", "state line there") == ["2. after unknown"]
    assert drawn.arrows("state line there", "state line here") == ["at the next loop"]
    assert drawn.words("note line") == "The line of the lamp."


def test_findings_are_laid_on_boxes_and_on_the_mechanism():
    nested = taken_apart(dot_text(model_of(NESTED), [finding("runaway", ("figure", "show_time"))]))
    moved = taken_apart(
        dot_text(model_in(CAROUSEL), [finding("never-reached", ("drum_position", "at_tube"))])
    )

    assert nested.words("flag of state figure show_time") == "broken: runaway"
    assert moved.words("flag of state drum_position at_tube") == "doubtful: never-reached"


def test_a_finding_on_an_interlock_or_a_movement_is_laid_on_its_arrow():
    model = model_in(CAROUSEL)
    interlock = model.region["carousel"].interlocks[0]
    movement = model.mechanisms["drum_position"].states[1].movements[0]
    findings = [
        finding("never-taken", span=interlock.span),
        finding("never-taken", span=movement.span, severity=Severity.NOTE),
    ]

    drawn = taken_apart(dot_text(model, findings))

    (edge,) = [edge for tail, _, edge in drawn.edges if tail.startswith("interlock")]
    assert edge["label"].replace("\u00a0", "") == "doubtful: never-taken\\l"
    assert drawn.arrows("state drum_position at_tube", "state drum_position between") == [
        "while drum is not stopped takes 20 ms to 60 ms note: never-taken"
    ]


def test_whether_a_motor_still_turns_is_no_frame_of_its_own():
    drawn = dot_text(spec("specs/lantern-wheel.yaml"))

    assert "mechanism place" in drawn
    assert "motion" not in drawn
    assert "wheel forward 1 station" in drawn
