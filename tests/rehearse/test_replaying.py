"""Told stories are played again, and no file can make more of them than a clear refusal."""

import json
from copy import deepcopy

import pytest

from behaviour.findings import Run, Stimulus
from behaviour.rehearse.replaying import Rehearsed, rehearse
from behaviour.rehearse.told import StoryFormError, read_stories, run_of
from behaviour.story import as_json
from tests.carousel import CAROUSEL, FORGETFUL, lid_opens_while_it_turns
from tests.reading import model_in, model_of

BLINKER = """\
    language: 1
    prop: Blinker
    loop: 10 ms
    outputs: {eye: {kind: lamp, values: [dark, lit]}}
    inputs: {tap: {kind: button}}
    regions:
      eyes:
        begins: shut
        states:
          shut: {leave: [{after: 20 ms to 50 ms, go: wide}]}
          wide: {set: {eye: lit}, leave: [{after: 20 ms, go: shut}]}
    """


def blinking(draws: int = 3, rounds_from: int = 5) -> Run:
    """Give two rounds of blinking: entered at 0, wide at 3, shut at 5, wide at 8, shut at 10."""
    drawn = ((("eyes", 0), draws),)
    return Run(
        tuple(
            Stimulus(("released",), draws=drawn if loop in (0, 5, 10) else ()) for loop in range(10)
        ),
        repeats_from=rounds_from,
    )


def test_a_story_replays_to_the_run_that_it_was_told_of():
    model = model_in(FORGETFUL)
    run = lid_opens_while_it_turns()

    (story,) = read_stories(json.dumps(as_json(model, run, {})))

    assert run_of(model, story).stimuli == run.stimuli
    assert (story.name, story.breach, rehearse(model, story).differs) == ("story", 79, "")


def test_random_times_and_rounds_replay():
    model = model_of(BLINKER)

    (story,) = read_stories(json.dumps(as_json(model, blinking(), {})))

    assert story.steps[0]["draws"] == [{"region": "eyes", "transition": 0, "loops": 3}]
    assert (story.last, rehearse(model, story).differs) == (9, "")


def test_a_round_that_does_not_close_is_noticed():
    model = model_of(BLINKER)

    (story,) = read_stories(json.dumps(as_json(model, blinking(rounds_from=7), {})))

    assert rehearse(model, story).differs.startswith("it does not go round: 0.11 s")


def test_a_time_that_cannot_be_drawn_is_noticed():
    model = model_of(BLINKER)
    told = as_json(model, blinking(), {})
    told["steps"][0]["draws"][0]["loops"] = 9

    (story,) = read_stories(json.dumps(told))

    assert rehearse(model, story).differs == (
        "it cannot be played: 9 loops were drawn where 2 to 5 may be"
    )


def test_the_first_loop_that_differs_is_named():
    model = model_in(FORGETFUL)
    told = as_json(model, lid_opens_while_it_turns(), {})
    told["steps"][4]["regions"]["carousel"] = "idle"
    less = deepcopy(told)
    del less["steps"][1]["outputs"]["lamp"]
    more = deepcopy(told)
    more["steps"][1]["outputs"]["horn"] = "loud"

    said = [
        rehearse(model, read_stories(json.dumps(story))[0]).differs for story in (told, less, more)
    ]

    assert said == [
        "at 0.74 s the story says `carousel` idle, and it is turn",
        "at 0.20 s the story says `lamp` nothing, and it is white",
        "at 0.20 s the story says `horn` loud, and it is not there",
    ]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"raw": {"lid": "ajar", "trigger": "pressed", "mark": "clear"}}, "no value `ajar`"),
        ({"raw": {"lid": "open"}}, "another prop"),
        ({"mechanism": {"drum_position": "nowhere"}}, "no state `nowhere`"),
        ({"mechanism": {}}, "another prop"),
        ({"mechanism": 3}, "has no `mechanism`"),
        ({"draws": [{"region": 3}]}, "`draws` that cannot be read"),
        ({"stalled": {"mechanism": "drum_position", "movement": 9}}, "a `stalled` movement"),
        ({"stalled": {"mechanism": "arm", "movement": 0}}, "a `stalled` movement"),
        ({"stalled": 1}, "a `stalled` movement"),
    ],
)
def test_a_story_of_another_prop_is_refused(change, message):
    model = model_in(CAROUSEL)
    run = Run((Stimulus(("closed", "released", "clear"), (0,)),), breach=0)
    told = as_json(model, run, {})
    told["steps"][0] |= change

    (story,) = read_stories(json.dumps(told))

    with pytest.raises(StoryFormError, match=message):
        run_of(model, story)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"steps": [{"loop": true}]}', "has no `loop`"),
        ('{"steps": [{"loop": 99999999999}]}', "has no `loop`"),
        ('{"steps": [{"loop": 0}, {"loop": 5}], "breach_loop": 4}', "goes on after the loop"),
        ('{"steps": [{"loop": 0}], "repeats_from": -1}', "`repeats_from` is not the number"),
        ("[" * 100_000, "it is not JSON"),
    ],
)
def test_a_hostile_file_is_refused(text, message):
    with pytest.raises(StoryFormError, match=message):
        read_stories(text)


def test_a_movement_that_sticks_replays_from_the_loop_on_in_which_it_does():
    model = model_in(CAROUSEL)
    stuck = [None, None, (0, 1), (0, 1), (0, 1)]
    raw = ("closed", "released", "made")
    run = Run(tuple(Stimulus(raw, (1,), stalled=each) for each in stuck), breach=4)

    (story,) = read_stories(json.dumps(as_json(model, run, {})))

    assert run_of(model, story).stimuli == run.stimuli


def ended(finding: str, run: Run, rule: str | None = None) -> Rehearsed:
    model = model_in(FORGETFUL)
    claimed = {"name": finding, "story": as_json(model, run, {})} | ({"rule": rule} if rule else {})
    (story,) = read_stories(json.dumps({"findings": [claimed]}))
    return rehearse(model, story)


LID = "nothing turns under an open lid"


def test_a_story_that_ends_in_its_breach_says_which():
    run = lid_opens_while_it_turns()

    assert ended("rule-broken", run, LID).ends == (
        "`drum is forward and lid is open` has now held for 60 ms, 20 ms of it sensing; 40 ms are"
        " allowed"
    )
    assert ended("story", run).ends == "it claims nothing"


@pytest.mark.parametrize(
    ("finding", "rule", "differs"),
    [
        ("out-of-range", None, "it does not end in the breach that it claims"),
        ("moves-at-power-up", None, "it does not end in the breach that it claims"),
        ("runaway", None, "it does not end in the breach that it claims"),
        ("rule-broken", "another rule", "this file has no such rule"),
    ],
)
def test_a_story_that_ends_in_something_else_differs(finding, rule, differs):
    assert ended(finding, lid_opens_while_it_turns(), rule).differs == differs


def test_a_story_that_ends_too_early_for_its_breach_differs():
    run = lid_opens_while_it_turns()
    shorter = Run(run.stimuli[:78], breach=77)

    assert ended("rule-broken", shorter, LID).differs == (
        "it does not end in the breach that it claims"
    )


@pytest.mark.parametrize(
    ("finding", "shows"),
    [
        ("dead-end", "that nothing leads out of it is what `check` shows"),
        ("no-way-back", "that nothing leads back is what `check` shows"),
        ("never-taken", "what is wrong there is what `check` shows"),
    ],
)
def test_what_no_story_can_show_is_left_to_the_check(finding, shows):
    played = ended(finding, lid_opens_while_it_turns())

    assert (played.differs, played.ends) == ("", f"it leads there; {shows}")


def test_a_breach_that_depends_on_what_is_not_known_is_not_claimed():
    model = model_of(FORGETFUL.text.replace("for: 40 ms", "for: unknown"))
    told = as_json(model, lid_opens_while_it_turns(), {})
    (story,) = read_stories(json.dumps({"name": "rule-broken", "rule": LID, "story": told}))

    assert rehearse(model, story).differs.startswith("whether it ends in a breach depends on `")


def test_stories_are_found_wherever_a_report_has_them():
    model = model_in(FORGETFUL)
    told = as_json(model, lid_opens_while_it_turns(), {})
    file = {"findings": [{"name": "runaway", "story": told}, {"name": "unused"}]}

    found = read_stories(json.dumps([file, {"findings": [{"rule": "r", "story": told}]}]))

    assert [story.name for story in found] == ["runaway", "r"]
