"""Facts of the trade: common practice, no source."""

from behaviour.model import Drive, Quantity
from behaviour.numbers.block_motion import motion_block
from behaviour.numbers.block_noise import noise_block
from behaviour.numbers.cells import CELLS
from behaviour.numbers.motion import past_steps
from behaviour.numbers.spacing import station_time, turned
from behaviour.numbers.supply import pack_volts
from behaviour.numbers.torque import torque_at_motor
from tests.numbers.drives import carousel
from tests.reading import spec

CAROUSEL = spec("specs/confetti-carousel.yaml")


def test_a_drum_of_k_stations_at_n_rpm_passes_one_in_60_over_k_n_seconds():
    assert station_time(6, 40) == 0.25
    assert station_time(2, 60) == 0.5


def test_a_full_pack_of_n_lithium_cells_gives_4_2_n_volts():
    for cells in range(1, 15):
        assert pack_volts(cells, CELLS["li-ion"])[2] == cells * 4.2


def test_the_speed_at_which_a_stepper_stalls_belongs_to_a_build_whose_day_is_told():
    drive = carousel()
    stalled = Quantity(number=90.0, unit="rpm", known="measured", on="2026-11-20")
    built = Drive(output="drum", kind="stepper", figures=(*drive.figures, ("stalled", stalled)))
    (remark,) = motion_block(CAROUSEL, built, ()).remarks
    assert remark.startswith("the speed at which a stepper stalls belongs to a build")
    assert "2026-11-20" in remark


def test_mended_friction_frees_torque_for_speed():
    assert torque_at_motor(0.3, 4.5, 1) == 3 * torque_at_motor(0.1, 4.5, 1)


def test_interference_lasts_as_long_as_the_motor_turns():
    remark = noise_block(CAROUSEL).remarks[0]
    assert remark.startswith("interference of a motor lasts as long as the motor turns")


def test_steps_past_a_switch_belong_to_a_direction():
    assert past_steps(carousel(), "forward") == 35
    assert past_steps(carousel(), "reverse") == 12


def test_at_40_rpm_a_loop_of_10_ms_is_2_4_degrees():
    assert turned(40, 0.010) == 2.4
