"""A run replayed and told: what is kept of it, in which words, and as plain data."""

import re
from dataclasses import replace

from behaviour.findings import Run, Stimulus
from behaviour.model import Model
from behaviour.story import as_json, replay, steps
from behaviour.telling import says_by_loop, tell
from tests.carousel import CAROUSEL, FORGETFUL, lid_opens_while_it_turns
from tests.reading import model_in, model_of


def blinker() -> Model:
    return model_of("""\
        language: 1
        prop: Blinker
        loop: 5 ms
        inputs:
          lid: {kind: switch, role: guard, values: [shut, open], safe: shut, steady: 15 ms}
          tap: {kind: button, steady: 20 ms}
        outputs:
          light: {kind: lamp, values: [dark, lit]}
          bell: {kind: relay, values: [still, ringing]}
        counters:
          taps: {from: 0, to: 2, begins: 0}
        regions:
          eye:
            begins: resting
            states:
              resting:
                leave: [{when: tap becomes pressed, do: add 1 to taps, go: open_wide}]
              open_wide:
                set: {light: lit}
                leave:
                  - {when: tap is pressed, do: add 2 to taps, go: stay}
                  - {after: 10 ms to 50 ms, go: resting}
          gong:
            begins: calm
            states:
              calm: {leave: [{when: eye in open_wide, go: strike}]}
              strike:
                cues: [{at: 10 ms, set: {bell: ringing}}, {at: 20 ms}]
                at the end: {go: calm}
        """)


def still(loops: int, raw: tuple[str, ...] = ("shut", "released")) -> list[Stimulus]:
    return [Stimulus(raw=raw)] * loops


def cells(told: tuple[str, ...]) -> list[list[str]]:
    return [[cell for cell in re.split("  +", line) if cell] for line in told]


def test_a_story_reads_as_the_builder_tells_it():
    told = tell(model_in(FORGETFUL), lid_opens_while_it_turns())

    assert cells(told) == [
        [
            "0.00 s",
            "power on, lid closed (not counted yet), drum_position between",
            "carousel in lid_open",
            "lamp white",
        ],
        ["0.20 s", "lid closed (held since 0.00)"],
        ["0.70 s", "lid is closed for 500 ms", "carousel: lid_open -> idle", "lamp green"],
        [
            "0.74 s",
            "trigger pressed (held since 0.72)",
            "carousel: idle -> turn",
            "drum forward, lamp amber",
        ],
        ["0.76 s", "lid open (really since 0.75)"],
        ["0.79 s", "the drum has now turned under an open lid for 40 ms"],
    ]


def test_a_story_stands_in_columns():
    told = tell(model_in(FORGETFUL), lid_opens_while_it_turns())

    assert {told[2].index("carousel"), told[3].index("carousel")} == {54}
    assert {told[2].index("lamp"), told[3].index("drum")} == {82}
    assert [line for line in told if line != line.rstrip()] == []


def test_only_loops_in_which_something_changed_are_kept():
    model, run = model_in(FORGETFUL), lid_opens_while_it_turns()

    kept = [view.loop for view in steps(run, replay(model, run))]

    assert kept == [0, 20, 70, 72, 74, 75, 76, 79]


def test_an_endless_run_says_from_when_on():
    run = Run(stimuli=tuple(still(30)), repeats_from=4)

    assert tell(blinker(), run)[-1] == "0.145 s  and so on for ever, from 0.020 s on"
    said = replace(run, says=((29, "the light stays dark"),))
    assert tell(blinker(), said)[-1] == (
        "0.145 s  the light stays dark, and so on for ever, from 0.020 s on"
    )


def test_cues_counters_random_times_and_what_stays_are_told():
    pressed = Stimulus(raw=("shut", "pressed"), draws=((("eye", 2), 8),))
    stimuli = [*still(2), *[pressed] * 5, *still(12)]

    told = tell(blinker(), Run(stimuli=tuple(stimuli)))

    held = "taps held at its bound"
    assert cells(told) == [
        ["0.000 s", "power on, lid shut (not counted yet)", "eye in resting, gong in calm"],
        ["0.015 s", "lid shut (held since 0.000)"],
        [
            "0.030 s",
            "tap pressed (held since 0.010)",
            "eye: resting -> open_wide, taps 1",
            "light lit",
        ],
        [
            "0.035 s",
            "tap is pressed, eye in open_wide",
            f"eye stays in open_wide, gong: calm -> strike, taps 2, {held}",
        ],
        ["0.040 s", "tap is pressed", f"eye stays in open_wide, {held}"],
        [
            "0.045 s",
            "tap is pressed, 10 ms in strike",
            f"eye stays in open_wide, gong in strike@10ms, {held}",
            "bell ringing",
        ],
        ["0.050 s", "tap is pressed", f"eye stays in open_wide, {held}"],
        [
            "0.055 s",
            "tap released (held since 0.035), the end of strike",
            "gong: strike@10ms -> calm",
            "bell still",
        ],
        ["0.060 s", "eye in open_wide", "gong: calm -> strike"],
        [
            "0.070 s",
            "40 ms in open_wide, 10 ms in strike",
            "eye: open_wide -> resting, gong in strike@10ms",
            "light dark, bell ringing",
        ],
        ["0.080 s", "the end of strike", "gong: strike@10ms -> calm", "bell still"],
    ]


def test_a_reading_too_short_to_count_is_told_as_such():
    stimuli = [*still(5), *still(2, ("shut", "pressed")), *still(2)]

    assert tell(blinker(), Run(stimuli=tuple(stimuli)))[2:] == (
        "0.025 s  tap pressed (not counted yet)",
        "0.035 s  tap released again",
    )


def test_a_reading_that_the_run_ends_too_early_for_is_told_when_it_begins():
    stimuli = [*still(5), *still(3, ("open", "released"))]

    assert tell(blinker(), Run(stimuli=tuple(stimuli)))[-1] == (
        "0.025 s  lid open (not counted yet)"
    )


def test_a_drawn_time_is_kept_as_data():
    pressed = Stimulus(raw=("shut", "pressed"), draws=((("eye", 2), 3),))
    stimuli = [*still(2), *[pressed] * 5, *still(8)]
    model, run = blinker(), Run(stimuli=tuple(stimuli), breach=14)

    story = as_json(model, run, {})
    drawn = [step["draws"] for step in story["steps"] if "draws" in step]
    assert drawn[0] == [{"region": "eye", "transition": 2, "loops": 3}]


def test_a_mechanism_that_moves_and_one_that_sticks_are_told():
    model = model_in(CAROUSEL)
    raw = ("closed", "released")
    stimuli = [
        Stimulus(raw=(*raw, "clear"), mechanism=(0,)),
        Stimulus(raw=(*raw, "made"), mechanism=(1,)),
        Stimulus(raw=(*raw, "made"), mechanism=(1,), stalled=(0, 1)),
    ]

    told = [line.split("  ")[1] for line in tell(model, Run(stimuli=tuple(stimuli)))]

    assert told == [
        "power on, lid closed (not counted yet), drum_position between",
        "drum_position reaches at_tube, mark made",
        "from here on `at_tube -> between` of `drum_position` never ends",
    ]


def test_of_two_mechanisms_the_one_that_sticks_is_named() -> None:
    model = model_of("""\
        language: 1
        prop: Two arms
        loop: 10 ms
        outputs: {motor: {kind: motor, values: [off, on]}}
        regions: {arms: {begins: idle, states: {idle: {}}}}
        mechanism:
          left:
            begins: near
            states:
              near: {leave: [{while: motor is on, takes: 100 ms, go: far}]}
              far: {leave: [{while: motor is on, takes: 100 ms, go: near}]}
          right:
            begins: up
            states:
              up: {leave: [{while: motor is on, takes: 100 ms, go: down}]}
              down: {}
        """)
    stimuli = (Stimulus((), (0, 0), stalled=(1, 0)), Stimulus((), (0, 0), stalled=(1, 0)))
    run = Run(stimuli, breach=1)

    stuck = "from here on `up -> down` of `right` never ends"
    assert tell(model, run) == (f"0.00 s  power on, left near, right up, {stuck}  arms in idle",)
    assert [step["stalled"] for step in as_json(model, run, {})["steps"]] == [
        {"mechanism": "right", "movement": 0}
    ] * 2


def test_the_middle_of_a_very_long_story_is_left_out_and_said_to_be():
    flicker = [Stimulus(raw=("shut", "pressed" if loop % 2 else "released")) for loop in range(100)]

    told = tell(blinker(), Run(stimuli=tuple(flicker)))

    assert len(told) == 41
    assert told[20].strip() == "... 60 lines left out here ..."


def test_a_story_as_data_has_each_loop_whole():
    model, run = model_in(FORGETFUL), lid_opens_while_it_turns()

    story = as_json(model, run, says_by_loop(model, run))

    assert (story["loop_ms"], story["breach_loop"]) == (10, 79)
    assert [step["loop"] for step in story["steps"]] == [0, 20, 70, 72, 74, 75, 76, 79]
    assert story["steps"][4] == {
        "loop": 74,
        "at_ms": 740,
        "raw": {"lid": "closed", "trigger": "pressed"},
        "inputs": {"lid": "closed", "trigger": "pressed"},
        "mechanism": {"drum_position": "between"},
        "counters": {},
        "regions": {"carousel": "turn"},
        "outputs": {"drum": "forward", "lamp": "amber"},
        "says": "trigger pressed (held since 0.72)",
    }
    assert story["steps"][-1]["says"] == "the drum has now turned under an open lid for 40 ms"


def test_an_endless_story_as_data_says_where_it_goes_on():
    model, run = blinker(), Run(stimuli=tuple(still(30)), repeats_from=4)

    story = as_json(model, run, {})

    assert (story["repeats_from"], story["last_loop"], "breach_loop" in story) == (4, 29, False)
    assert [step["loop"] for step in story["steps"]] == [0, 3, 29]
    assert says_by_loop(model, run)[29] == "and so on for ever, from 0.020 s on"
