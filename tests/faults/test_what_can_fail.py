"""Which faults a prop can have, and what each does to lines, outputs and the controller."""

from itertools import islice

from behaviour.faulting_words import effect_words, item_words, mode_words
from behaviour.faults import (
    Backwards,
    BrownOut,
    Chatters,
    Hangs,
    Late,
    Restart,
    Stalls,
    Stuck,
    Swapped,
    Unplugged,
    Welded,
    faults_of,
    swapped_value,
)
from behaviour.findings import Beat
from behaviour.model import Model
from behaviour.world.circuit import Circuit, Life, Stage, beat
from tests.reading import model_of, spec

CAROUSEL = spec("specs/confetti-carousel.yaml")


def hatch(more: str = "") -> Model:
    return model_of(f"""\
        language: 1
        prop: Hatch
        loop: 10 ms
        {more}
        inputs:
          shut: {{kind: switch, values: [no, yes], steady: 30 ms, pin: 2, pull: up, low: yes}}
          wide: {{kind: switch, values: [yes, no], pin: 3, pull: up, low: yes}}
        outputs:
          wing: {{kind: motor, values: [still, up, down]}}
        regions:
          hatch:
            begins: closed
            states:
              closed: {{leave: [{{when: shut becomes yes, go: opening}}]}}
              opening: {{set: {{wing: up}}, leave: [{{when: wide becomes yes, go: closed}}]}}
        """)


def stages(circuit: Circuit, loops: int) -> list[set[str]]:
    """Name the stages that a single fault can be in, loop by loop."""
    lives = set(circuit.at_power_up())
    found = []
    for _ in range(loops):
        found.append({one[0].stage.name for one in lives})
        lives = {to for each in lives for to in circuit.onward(each)}
    return found


def test_the_carousel_can_fail_in_these_ways():
    faults = faults_of(CAROUSEL)

    assert list(islice(faults, 6)) == [
        Stuck("lid", "closed"),
        Stuck("lid", "open"),
        Stuck("trigger", "released"),
        Stuck("trigger", "pressed"),
        Stuck("mark", "clear"),
        Stuck("mark", "made"),
    ]
    assert Unplugged("lid", "open") in faults
    assert Unplugged("trigger", "released") in faults
    assert Chatters("lid", longer=False) in faults
    assert Chatters("mark", longer=False) not in faults, "it has no filter to be shorter than"
    assert Swapped("lid", "mark") in faults
    assert Stalls("drum_position", 0) in faults
    assert Backwards("drum") in faults
    assert Welded("valve", "open") in faults
    assert faults[-4:] == (Late(), Restart(), BrownOut(), Hangs())
    assert len(faults) == len(set(faults)) == 36


def test_each_fault_is_said_in_words():
    words = [(item_words(each), mode_words(CAROUSEL, each)) for each in faults_of(CAROUSEL)]

    assert words[0] == ("lid", "stuck at closed")
    assert ("drum_position", "stalls: `between -> at_tube`") in words
    assert ("controller", "hangs") in words
    assert len(set(words)) == len(words)
    assert effect_words(CAROUSEL, Late()) == "one loop begins up to 30 ms after the one before"


def test_a_swapped_plug_gives_the_level_and_not_the_name():
    model = hatch()

    assert swapped_value(model.input["shut"], "yes", model.input["wide"]) == "yes"
    assert swapped_value(model.input["wide"], "yes", model.input["shut"]) == "yes"
    assert swapped_value(CAROUSEL.input["lid"], "closed", CAROUSEL.input["mark"]) == "made"


def test_a_stuck_input_reads_its_value_from_any_moment_on():
    circuit = Circuit(CAROUSEL, (Stuck("lid", "closed"),))

    assert circuit.reads((), 0, "open") == ("open",)
    assert circuit.reads((0,), 0, "open") == ("closed",)
    assert circuit.reads((0,), 1, "pressed") == ("pressed",)
    assert stages(circuit, 2) == [{"WAITING", "ACTING"}, {"WAITING", "ACTING"}]


def test_interference_lasts_no_longer_than_the_filter_it_cannot_pass():
    short = Circuit(hatch(), (Chatters("shut", longer=False),))
    longer = Circuit(hatch(), (Chatters("shut", longer=True),))

    assert short.reads((0,), 0, "no") == ("no", "yes")
    assert short.most_flipped(0, "yes") == 3
    assert longer.most_flipped(0, "yes") is None


def test_a_motor_that_runs_backwards_still_rests():
    circuit = Circuit(hatch(), (Backwards("wing"),))

    assert circuit.real((0,), ("up",)) == ("down",)
    assert circuit.real((0,), ("still",)) == ("still",)


def test_a_restart_leaves_outputs_at_rest_for_the_boot_and_comes_once():
    circuit = Circuit(hatch("boot: 20 ms"), (Restart(),))
    waiting, begun = circuit.onward((Life(Stage.WAITING),))
    beats = []
    for _ in range(5):
        beats.append(beat(begun))
        (begun,) = circuit.onward(begun)

    assert waiting[0].stage is Stage.WAITING
    assert beats == [Beat.IS_DOWN, Beat.IS_DOWN, Beat.STARTS, Beat.RUNS, Beat.RUNS]


def test_a_controller_that_hangs_comes_back_only_with_a_watchdog():
    dog = Circuit(hatch("watchdog: 20 ms"), (Hangs(),))
    none = Circuit(hatch(), (Hangs(),))

    assert stages(dog, 5)[-1] == {"WAITING", "SKIPPING", "DOWN", "STARTING"}
    assert stages(none, 9)[-1] == {"WAITING", "SKIPPING"}


def test_power_sags_only_as_a_hazard_starts():
    circuit = Circuit(hatch(), (BrownOut(),))
    (calm,) = circuit.at_power_up()

    assert list(circuit.onward(circuit.left(calm, hazard_began=False))) == [calm]
    (down,) = circuit.onward(circuit.left(calm, hazard_began=True))
    assert beat(down) is Beat.IS_DOWN
