"""The guided walk: its runs can happen and end in their marks, and it soon finds what there is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.explore.walk import walk
from behaviour.explore.walking.marks import cues_of, marks_of
from behaviour.findings import Run
from behaviour.model import Model
from tests.explore.legal import last_loop
from tests.reading import FAULTY, ROOT, SPECS, model_of, spec
from tests.strategies import different_models

A_MINUTE = 60.0


def named(path):
    return spec(str(path.relative_to(ROOT)))


def is_met(model: Model, mark: object, run: Run) -> bool:
    """Play the run, which must be possible, and tell whether its last loop meets the mark."""
    state, ended = last_loop(model, run)
    match mark:
        case ("state", region, number):
            at = model.region_index[region]
            now = state.regions[at]
            entered = now.fired is not None or len(run.stimuli) == 1
            return entered and model.regions[at].contains(number, now.leaf)
        case ("cue", region, number):
            at = model.region_index[region]
            now = state.regions[at]
            fires = now.fired is not None and now.fired.transition is None
            return fires and cues_of(model.regions[at])[number] == (now.leaf, now.cue)
        case ("taken", region, number):
            fired = state.regions[model.region_index[region]].fired
            return fired is not None and fired.transition.number == number
        case ("stands", mechanism, number):
            return run.stimuli[-1].mechanism[model.mechanism_index[mechanism]] == number
        case ("ended", mechanism, number):
            return (model.mechanism_index[mechanism], number) in ended
        case ("beyond", counter):
            return counter in state.beyond
    raise AssertionError(mark)


def told(model: Model, marks: object) -> set[str]:
    """Write marks as people do, `region.state`, `region.state -> state` and so on."""
    found = set()
    for mark in marks:
        match mark:
            case ("state", region, number):
                found.add(f"{region}.{model.region[region].states[number].name}")
            case ("taken", name, number):
                region = model.region[name]
                way = region.transition(number)
                source = "" if way.source is None else f".{region.states[way.source].name}"
                target = "stay" if way.target is None else region.states[way.target].name
                found.add(f"{name}{source} -> {target}")
            case (kind, *rest):
                found.add(f"{kind} {' '.join(str(each) for each in rest)}")
    return found


def unmet(model: Model, *, may_stall: bool = False, steps: int = 3000) -> set[str]:
    found = walk(model, seed=1, steps=steps, seconds=A_MINUTE, may_stall=may_stall)
    return told(model, set(marks_of(model)) - set(found))


# --- Runs can happen ----------------------------------------------------------------------------


@given(different_models(), st.booleans(), st.integers(0, 99))
def test_every_run_can_happen_and_ends_in_its_mark(model, may_stall, seed):
    found = walk(model, seed=seed, steps=150, seconds=A_MINUTE, may_stall=may_stall)

    assert found
    for mark, run in found.items():
        assert run.breach == len(run.stimuli) - 1
        assert is_met(model, mark, run)
        assert may_stall or all(each.stalled is None for each in run.stimuli)


@pytest.mark.parametrize("may_stall", [False, True], ids=["healthy", "stalled"])
@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_run_of_a_demo_prop_can_happen_and_ends_in_its_mark(path, may_stall):
    model = named(path)
    found = walk(model, seed=7, steps=1000, seconds=A_MINUTE, may_stall=may_stall)

    by_length = sorted(found, key=lambda mark: len(found[mark].stimuli))
    played = [mark for mark in by_length if len(found[mark].stimuli) < 3000]
    for mark in {*played, by_length[-1]}:
        assert is_met(model, mark, found[mark])


def test_the_same_seed_makes_the_same_runs():
    model = spec("specs/fortune-teller.yaml")

    first = walk(model, seed=3, steps=400, seconds=A_MINUTE, may_stall=True)
    again = walk(model, seed=3, steps=400, seconds=A_MINUTE, may_stall=True)

    assert first == again
    assert list(first) == list(again)


# --- It finds what there is ---------------------------------------------------------------------

STALLED_ONLY = {
    "confetti-carousel": {"carousel.jammed", "carousel.turn -> jammed", "carousel.jammed -> idle"},
    "fog-cannon": {"boiler.too_slow", "boiler.heating -> too_slow", "boiler.too_slow -> cold"},
    "fortune-teller": {
        "teller.no_card",
        "teller.deal -> no_card",
        "teller.no_card -> asleep",
    },
    "lift-platform": {"lift.jammed", "lift.running -> jammed", "lift.jammed -> coasting"},
    "rotating-sign": {"swing.jammed", "swing.turning -> jammed", "swing.jammed -> lost"},
    "treasure-chest": {
        "hand.jammed",
        "hand.given_up",
        "hand.travel -> jammed",
        "hand.jammed -> given_up",
        "hand.jammed -> lost",
        "breath.waking -> calm",
    },
    "lantern-wheel": set(),
}
"""What needs a movement that stalls: the safety nets of the demo props. Read from the files."""


def without_counters(marks):
    return {mark for mark in marks if not mark.startswith("beyond ")}


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_all_of_a_demo_prop_but_its_safety_nets_is_met_in_the_healthy_world(path):
    assert without_counters(unmet(named(path))) == STALLED_ONLY[path.stem]


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_all_of_a_demo_prop_is_met_where_a_movement_may_stall(path):
    assert without_counters(unmet(named(path), may_stall=True)) == set()


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_no_counter_of_a_demo_prop_is_taken_beyond(path):
    model = named(path)
    found = walk(model, seed=1, steps=3000, seconds=A_MINUTE, may_stall=True)

    assert [mark for mark in found if mark[0] == "beyond"] == []


def test_a_counter_without_a_bound_is_taken_beyond():
    (path,) = (path for path in FAULTY if path.stem == "purse-without-a-bottom")
    model = named(path)
    found = walk(model, seed=1, steps=1000, seconds=A_MINUTE, may_stall=False)

    assert [mark for mark in found if mark[0] == "beyond"] == [("beyond", model.counters[0].name)]


LOCK = """
    language: 1
    prop: Lock
    about: Eight presses in the right order, each within a second of the last.
    loop: 10 ms
    inputs:
      a: {kind: button, steady: 20 ms}
      b: {kind: button, steady: 30 ms}
      c: {kind: button, steady: 20 ms}
    regions:
      lock:
        begins: s0
        states:
"""
CODE = "abcaabcb"


def test_it_opens_a_combination_lock():
    states = ""
    for at, right in enumerate(CODE):
        wrong = " or ".join(f"{each} becomes pressed" for each in "abc" if each != right)
        states += f"""
          s{at}:
            leave:
              - {{when: {right} becomes pressed, go: s{at + 1}}}
              - {{when: {wrong}, go: s0}}
              - {{after: 1 s, go: s0}}
        """
    states += f"""
          s{len(CODE)}: {{leave: [{{after: 2 s, go: s0}}]}}
    """
    model = model_of(LOCK + states)

    assert unmet(model) == set()


def test_it_counts_to_twenty_and_takes_what_needs_that():
    model = model_of("""
        language: 1
        prop: Purse
        loop: 10 ms
        inputs:
          coin: {kind: sensor, values: [clear, passing], steady: 20 ms}
          give: {kind: button, steady: 20 ms}
          lid: {kind: switch, role: guard, values: [shut, open], safe: shut, steady: 200 ms}
        counters:
          coins: {from: 0, to: 20, begins: 0}
        regions:
          purse:
            begins: open
            interlocks: [{when: lid is open, go: away}]
            states:
              open:
                leave:
                  - {when: coin becomes passing and coins < 20, do: add 1 to coins, go: stay}
                  - {when: give becomes pressed and coins = 20, do: set coins to 0, go: giving}
              giving: {leave: [{after: 1 s, go: open}]}
              away: {leave: [{when: lid is shut for 500 ms, do: set coins to 0, go: open}]}
    """)

    assert unmet(model) == {"beyond coins"}


def test_it_presses_two_buttons_in_the_same_loop_and_holds_a_third():
    model = model_of("""
        language: 1
        prop: Three hands
        loop: 10 ms
        inputs:
          left: {kind: button, steady: 20 ms}
          right: {kind: button, steady: 70 ms}
          pedal: {kind: button, steady: 20 ms}
        regions:
          table:
            begins: shut
            states:
              shut:
                leave:
                  - when: >-
                      left becomes pressed and right becomes pressed
                      and pedal is pressed for 2 s
                    go: open
              open:
                leave: [{when: left is released and right is released, after: 5 min, go: shut}]
    """)

    assert unmet(model) == set()


def test_it_presses_while_a_sensor_is_passed():
    model = model_of("""
        language: 1
        prop: Wheel
        loop: 10 ms
        inputs:
          push: {kind: button, steady: 30 ms}
          mark: {kind: sensor, values: [clear, made]}
        outputs:
          wheel: {kind: motor, values: [still, turning], pin: 5}
        regions:
          game:
            begins: waiting
            states:
              waiting: {leave: [{when: push becomes pressed, go: spinning}]}
              spinning:
                set: {wheel: turning}
                leave:
                  - {when: push becomes pressed and mark is made, go: won}
                  - {when: push becomes pressed, go: waiting}
              won: {leave: [{after: 2 s, go: waiting}]}
        mechanism:
          drum:
            begins: any
            states:
              between:
                reads: {mark: clear}
                leave: [{while: wheel is turning, takes: 4 s to 6 s, go: at_mark}]
              at_mark:
                reads: {mark: made}
                leave: [{while: wheel is turning, takes: 20 ms to 40 ms, go: between}]
    """)
    marks = [("taken", "game", 1), ("ended", "drum", 1), ("stands", "drum", 0)]

    found = walk(model, seed=1, steps=3000, seconds=A_MINUTE, may_stall=False, wanted=marks)

    assert set(found) == set(marks)
    assert unmet(model) == set()


def test_what_only_a_drawn_time_allows_is_met():
    model = model_of("""
        language: 1
        prop: Blink
        loop: 10 ms
        inputs:
          look: {kind: button}
        regions:
          eye:
            begins: open
            states:
              open: {leave: [{after: 100 ms to 900 ms, go: shut}]}
              shut: {leave: [{after: 50 ms, go: open}]}
          clock:
            begins: early
            states:
              early:
                leave:
                  - {when: eye in shut, go: missed}
                  - {after: 880 ms, go: late}
              late: {leave: [{when: eye in shut, go: missed}]}
              missed: {lockout: yes}
    """)

    assert unmet(model) == set()


# --- When it stops ------------------------------------------------------------------------------


def test_it_gives_what_is_wanted_alone_and_stops_when_all_of_it_is_met():
    model = spec("specs/fog-cannon.yaml")
    wanted = [("state", "cannon", 6), ("taken", "boiler", 2)]

    found = walk(model, seed=1, steps=10**9, seconds=10**9, may_stall=False, wanted=wanted)

    assert set(found) == set(wanted)


def test_it_stops_when_its_time_is_up():
    """So many steps would take days."""
    model = spec("specs/fog-cannon.yaml")

    walk(model, seed=1, steps=10**9, seconds=0.2, may_stall=False)


def test_what_is_told_never_to_come_is_asked_once_and_given_up():
    model = spec("specs/fog-cannon.yaml")
    mark, asked = ("state", "boiler", 3), []

    def is_never(each):
        asked.append(each)
        return True

    found = walk(
        model,
        seed=1,
        steps=10**9,
        seconds=10**9,
        may_stall=False,
        wanted=[mark],
        is_never=is_never,
    )

    assert found == {}
    assert asked == [mark]


def test_it_ends_when_what_is_wanted_was_gone_for_in_vain_or_nothing_leads_there():
    model = model_of("""
        language: 1
        prop: Island
        loop: 10 ms
        inputs:
          push: {kind: button, steady: 20 ms}
        regions:
          game:
            begins: waiting
            states:
              waiting: {leave: [{when: push is pressed and push is released, go: never}]}
              never: {leave: [{after: 1 s, go: waiting}]}
              island: {leave: [{after: 1 s, go: waiting}]}
    """)
    for number in (1, 2):
        found = walk(
            model,
            seed=1,
            steps=10**9,
            seconds=10**9,
            may_stall=False,
            wanted=[("state", "game", number)],
            idle=30,
        )
        assert found == {}


def test_what_the_file_leaves_open_is_not_gone_into():
    model = model_of("""
        language: 1
        prop: Half known
        loop: 10 ms
        inputs:
          push: {kind: button, steady: 20 ms}
        regions:
          game:
            begins: waiting
            states:
              waiting: {leave: [{when: push becomes pressed, go: shown}]}
              shown: {leave: [{after: unknown, go: ended}]}
              ended: {leave: [{after: 1 s, go: waiting}]}
    """)

    found = walk(model, seed=1, steps=500, seconds=A_MINUTE, may_stall=False)

    assert told(model, found) == {"game.waiting", "game.shown", "game.waiting -> shown"}


def test_what_leads_nobody_knows_where_is_never_taken():
    model = model_of("""
        language: 1
        prop: Unknown
        loop: 10 ms
        inputs:
          lid: {kind: switch, role: guard, values: [shut, open], safe: shut, steady: unknown}
        regions:
          game:
            begins: waiting
            states:
              waiting: {leave: [{when: lid is open, go: gone}]}
              gone: {leave: [{when: lid is shut, go: unknown}]}
    """)
    wanted = [("taken", "game", 1)]

    found = walk(model, seed=1, steps=500, seconds=A_MINUTE, may_stall=False, wanted=wanted)

    assert found == {}
