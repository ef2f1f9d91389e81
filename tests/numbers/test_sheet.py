"""All numbers of the demo props: each formula gives its value, and what is missing is named."""

import json
from dataclasses import replace
from math import floor, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.cli import main
from behaviour.model import Model
from behaviour.numbers.results import Bars, Block, Lacking, Result
from behaviour.numbers.sheet import numbers_of
from behaviour.report.chart import chart_svg
from behaviour.report.numbers_html import numbers_html
from behaviour.report.numbers_text import numbers_text
from behaviour.source import Source
from tests.numbers.drives import carousel
from tests.reading import SPECS, model_of, spec

PROPS = SPECS
WORDS = {"sqrt": sqrt, "pi": pi, "floor": floor, "min": min, "max": max, "abs": abs, "round": round}

LITTLE = """
language: 1
prop: Little wheel
loop: 10 ms
reaction: 40 ms
inputs:
  lid: {kind: switch, values: [shut, open], steady: {shut: 20 ms, open: 0 ms}, role: guard,
        safe: shut, bounce: 23 ms, interference: 4 ms}
outputs:
  wheel: {kind: motor, values: [still, turning]}
regions:
  tub: {begins: idle, states: {idle: {leave: [{when: lid is shut for 1 s, go: on}]},
        on: {set: {wheel: turning}, leave: [{when: lid is open, go: idle}]}}}
rules:
  - {name: it stops, never: wheel is turning and lid is open, for: 40 ms}
"""
DRIVE = "drives: {wheel: {kind: stepper, speed: 40 rpm}}\n"


def little(more: str = "") -> Model:
    return model_of(LITTLE + more)


def results(blocks: tuple[Block, ...]) -> list[Result | Lacking]:
    return [each for block in blocks for each in block.results]


def named(blocks: tuple[Block, ...], says: str) -> Result | Lacking:
    (found,) = [each for each in results(blocks) if each.says == says]
    return found


@pytest.mark.parametrize("path", PROPS, ids=lambda path: path.stem)
def test_each_formula_with_its_values_put_in_gives_its_value(path):
    for each in results(numbers_of(model_of(path.read_text(encoding="utf-8")))):
        if isinstance(each, Result):
            symbols = {given.symbol: given.value for given in each.given}
            value = eval(each.formula, {"__builtins__": {}}, WORDS | symbols)
            is_window = "whole microseconds" in each.source
            off = 2e-6 if is_window else 1e-12
            assert value == pytest.approx(each.value, rel=1e-9, abs=off), each.says


def test_the_carousel_lacks_nothing():
    model = spec("specs/confetti-carousel.yaml")
    assert [each for each in results(numbers_of(model)) if isinstance(each, Lacking)] == []


def test_a_figure_is_asked_for_by_name_only_where_something_needs_it():
    blocks = numbers_of(little(DRIVE))
    steps = named(blocks, "steps for one turn of wheel")
    assert steps == Lacking("steps for one turn of wheel", ("wheel.steps",))
    assert named(blocks, "torque needed to gain speed").figures == (
        "wheel.load.inertia",
        "wheel.ramp",
        "wheel.steps",
        "wheel.load.friction",
    )


def test_a_prop_without_drives_has_its_noise_alone():
    assert [block.name for block in numbers_of(little())] == ["noise"]


def test_a_filter_is_advised_for_the_bounce_that_is_known_and_what_it_costs_is_told():
    advised = named(numbers_of(little()), "steady of `lid` for `shut`")
    assert advised.value == 30  # 23 ms of bounce are seen in 3 loops of 10 ms at most
    assert advised.weight == "doubtful"
    assert "costs 10 ms of reaction" in advised.advice


def test_a_guard_opening_is_filtered_against_interference_and_not_against_bounce():
    assert named(numbers_of(little()), "steady of `lid` for `open`").value == 10


def test_what_the_rules_have_left_is_told_with_the_filters_advised():
    (table,) = [each for each in numbers_of(little())[-1].tables if each.head[0] == "rule"]
    assert table.rows == (("it stops", "40", "30", "20"),)


def test_guesses_are_named_wherever_a_result_rests_on_them():
    model = spec("specs/rotating-sign.yaml")
    blocks = numbers_of(model)
    assert named(blocks, "margin: torque there over torque needed").guesses == (
        "sign.load.inertia",
    )
    assert named(blocks, "steps a second at speed").guesses == ()


@pytest.mark.parametrize("path", PROPS, ids=lambda path: path.stem)
def test_every_chart_is_drawn_inside_its_frame(path):
    for block in numbers_of(model_of(path.read_text(encoding="utf-8"))):
        for chart in block.charts:
            drawn = chart_svg(chart)
            assert drawn.startswith("<svg ")
            assert "nan" not in drawn
            if not isinstance(chart, Bars):
                spots = [
                    float(number)
                    for line in drawn.splitlines()
                    if line.startswith("<polyline")
                    for number in line.split('"')[1].replace(",", " ").split()
                ]
                assert min(spots) >= 0
                assert max(spots[0::2]) <= 490.05
                assert max(spots[1::2]) <= 266.05


def test_text_and_page_carry_the_fingerprint_and_the_cautions():
    model = little()
    source = Source("little.yaml", LITTLE)
    blocks = numbers_of(model)
    for told in (numbers_text(source, model, blocks), numbers_html(source, model, blocks)):
        assert "fingerprint " in told
        assert "A software interlock is not a safety-rated one." in told


def test_the_command_writes_json_and_charts(tmp_path, capsys):
    out = tmp_path / "numbers.json"
    arguments = ["numbers", "specs/confetti-carousel.yaml", "--move", "60 deg"]
    assert main([*arguments, "--out", str(out), "--charts", str(tmp_path)]) == 0
    told = json.loads(out.read_text(encoding="utf-8"))
    motion = {each["says"]: each for each in told["blocks"][0]["results"]}
    assert motion["steps of 60 deg"]["value"] == 1200
    assert motion["steps a second at speed"]["formula"] == "v / 60 * s"
    assert sorted(path.name for path in tmp_path.glob("*.svg")) == [
        "drum-60-deg.svg",
        "drum-torque.svg",
        "reaction.svg",
    ]
    assert "written:" in capsys.readouterr().out


def test_a_distance_that_is_none_is_refused_in_one_line(capsys):
    assert main(["numbers", "specs/confetti-carousel.yaml", "--move", "60 rpm"]) == 2
    assert "`60 rpm` is not a distance, such as `60 deg`" in capsys.readouterr().err


def test_a_move_of_a_file_without_drives_is_refused_in_one_line(capsys):
    assert main(["numbers", "specs/treasure-chest.yaml", "--move", "60 deg"]) == 2
    assert capsys.readouterr() == (
        "",
        "tablework: `specs/treasure-chest.yaml` has no `drives`, and so nothing to move\n",
    )


def test_the_folder_of_the_charts_is_made(tmp_path):
    folder = tmp_path / "charts"
    arguments = ["numbers", "specs/confetti-carousel.yaml", "--charts", str(folder)]

    assert main(arguments) == 0
    assert (folder / "drum-torque.svg").exists()


def test_whether_the_rules_hold_with_the_filters_advised_is_checked_and_told(tmp_path, capsys):
    path = tmp_path / "little.yaml"
    path.write_text(LITTLE.replace("for: 40 ms", "for: 10 ms"), encoding="utf-8")
    assert main(["numbers", str(path), "--as", "json"]) == 0
    (*_, noise) = json.loads(capsys.readouterr().out)["blocks"]
    held = noise["tables"][0]
    assert held["head"] == ["rule", "now", "with the filters advised"]
    assert held["rows"] == [["it stops", "holds", "broken"]]


CAROUSEL = spec("specs/confetti-carousel.yaml")
SIZES = st.floats(1e-6, 1e6).map(lambda size: f"{size:.12f}")


@given(st.lists(SIZES, min_size=9, max_size=9), st.booleans())
def test_whatever_the_figures_no_result_is_negative_or_no_number(sizes, ramp_down):
    units = ("rpm", "rpm/s", "kg m2", "N m", "A", "mH", "g cm2", "kg", "mm")
    speed, ramp, inertia, friction, current, inductance, rotor, mass, radius = (
        f"{size} {unit}" for size, unit in zip(sizes, units, strict=True)
    )
    motor = carousel(
        ramp_down=ramp_down,
        speed=speed,
        ramp=ramp,
        load__inertia=inertia,
        load__friction=friction,
        winding__current=current,
        winding__inductance=inductance,
        rotor__inertia=rotor,
        load__hangs__mass=mass,
        load__hangs__radius=radius,
    )
    model = replace(CAROUSEL, drives=(motor,))
    blocks = numbers_of(model)
    may_be_less = "what the driver's limit leaves", "voltage behind the leads"
    for each in results(blocks):
        if isinstance(each, Result) and not each.says.startswith(may_be_less):
            assert each.value >= 0, each
    drawn = [chart_svg(chart) for block in blocks for chart in block.charts]
    assert [each for each in drawn if "nan" in each or "inf" in each] == []


def test_a_board_that_cannot_make_the_steps_in_time_is_told():
    model = spec("specs/confetti-carousel.yaml")
    for controller, weight in (("uno", "doubtful"), ("esp32", "plain")):
        fast = replace(model, drives=(carousel(speed="200 rpm"),), controller=controller)
        interval = named(numbers_of(fast), "shortest interval between two steps")
        assert interval.value == pytest.approx(41.67, rel=1e-3)
        assert interval.weight == weight


def test_a_pack_that_sags_below_what_the_controller_needs_is_told():
    power = """
    power: {cells: 2, chemistry: li-ion, peak: 4 A, cell_resistance: 50 mohm,
            leads: {resistance: 100 mohm}, controller_least: 5.5 V, capacity: 2 Ah, rating: 1,
            fuse: 4 A, run: {current: 2 A, time: 36 s}}
    """
    blocks = numbers_of(little(power.replace("\n    ", "\n")))
    sagged = named(blocks, "voltage behind the leads at the largest current, pack at its lowest")
    assert sagged.value == pytest.approx(6.0 - 4 * 0.2)
    assert sagged.advice == "less than the controller's regulator needs: 5.5 V"
    assert named(blocks, "smallest fuse").advice == "the file's fuse is smaller"
    assert named(blocks, "current that the pack may give").weight == "doubtful"
    assert named(blocks, "runs of a charge").value == pytest.approx(80)


def test_a_pack_that_is_changed_early_is_judged_at_that_voltage():
    power = "power: {cells: 2, chemistry: li-ion, stop_at: 3.3 V, peak: 1 A, cell_resistance: 0 ohm"
    blocks = numbers_of(little(f"{power}, leads: {{resistance: 0 ohm}}}}\n"))
    says = "voltage behind the leads at the largest current, pack at its lowest"
    assert named(blocks, says).value == pytest.approx(6.6)


def test_an_inertia_may_be_worked_out_from_the_parts_of_a_load():
    parts = """
    drives:
      wheel:
        kind: stepper
        load:
          parts:
            - {mass: 2 kg, diameter: 500 mm}
            - {mass: 1 kg, diameter: 100 mm, at: 150 mm, count: 12}
    """
    blocks = numbers_of(little(parts.replace("\n    ", "\n")))
    assert named(blocks, "inertia at wheel").value == pytest.approx(0.3475)


def test_a_speed_above_two_thirds_of_where_it_stalled_is_doubtful():
    model = spec("specs/confetti-carousel.yaml")
    for stalled, weight in (("50 rpm", "doubtful"), ("60 rpm", "plain")):
        blocks = numbers_of(replace(model, drives=(carousel(stalled=stalled),)))
        assert named(blocks, "fastest that drum should run").weight == weight


def test_stations_that_are_not_whole_build_up_an_error():
    blocks = numbers_of(
        replace(spec("specs/confetti-carousel.yaml"), drives=(carousel(stations__count="7"),))
    )
    error = named(blocks, "error that builds up in a turn of moves by stations")
    assert error.value == pytest.approx(3 / 7 * 7 * 0.05)  # 7200 / 7 is 1028 and 4/7
    assert error.weight == "doubtful"
