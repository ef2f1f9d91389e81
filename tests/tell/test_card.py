"""The operator's card says what the lamps mean, what each button does, and what to do."""

from behaviour.report.card_forms import card_html, card_markdown
from behaviour.source import Source
from behaviour.tell.card import Deed, Sign, Stop, card_of
from tests.reading import model_of, spec

HERE = Source("x.yaml", "")


def test_each_value_of_a_lamp_is_explained() -> None:
    card = card_of(spec("specs/confetti-carousel.yaml"))

    assert card.signs == (
        Sign("lamp", "dark", "empty"),
        Sign("lamp", "green", "idle"),
        Sign("lamp", "amber", "turn or shot"),
        Sign("lamp", "red", "jammed"),
        Sign("lamp", "white", "lid open"),
    )


def test_a_state_around_others_stands_for_all_of_them() -> None:
    card = card_of(spec("specs/lift-platform.yaml"))

    assert Sign("lamp", "amber", "running or coasting") in card.signs
    assert Sign("beacon", "turning", "alert") in card.signs


def test_what_a_light_keeps_means_only_where_it_was_set() -> None:
    card = card_of(spec("specs/fortune-teller.yaml"))

    assert Sign("crystal", "gold", "tell") in card.signs
    assert Sign("crystal", "dark", "attended") in card.signs


def test_each_button_says_what_comes_of_it() -> None:
    card = card_of(spec("specs/confetti-carousel.yaml"))

    assert card.deeds == (
        Deed("lid closed", ("lid open: to idle when kept so for 500 ms",)),
        Deed("lid open", ("anywhere else: to lid open",)),
        Deed(
            "press trigger",
            (
                "idle: to turn if the count `loaded` is more than 0, else to empty",
                "jammed: to idle when kept so for 3 s",
            ),
        ),
    )


def test_what_stays_and_what_waits_is_said() -> None:
    card = card_of(spec("specs/fortune-teller.yaml"))
    deeds = {deed.what: deed.comes for deed in card.deeds}

    assert deeds["let go of hush"] == ("hushed: to asleep, but only after 1 s there",)
    assert deeds["coin passing"] == (
        (
            "open or charged: stays, and adds 1 to the count `credits`"
            " if the count `credits` is less than 3"
        ),
    )


def test_what_to_do_when_it_stops_stands_beside_what_it_shows() -> None:
    card = card_of(spec("specs/confetti-carousel.yaml"))

    assert card.stops == (
        Stop("jammed", "lamp red", "Jammed. Hold the trigger for three seconds."),
        Stop("lid open", "lamp white", "Lid open: load, then close it."),
    )


def test_what_the_file_does_not_say_is_not_left_out_silently() -> None:
    model = model_of("""\
        language: 1
        prop: Bell
        loop: 10 ms
        regions: {bell: {begins: a, states: {a: {leave: [{after: 1 s, go: b}]}, b: {}}}}
        """)
    page = card_markdown(HERE, model)

    assert "**Make it safe**: not written down: ask before you go on" in page
    assert "A software interlock" not in page


def test_the_card_carries_cautions_and_fingerprint() -> None:
    page = card_html(HERE, spec("specs/fog-cannon.yaml"))

    assert "A software interlock is not a safety-rated one." in page
    assert "fingerprint f37d-9e38" in page
