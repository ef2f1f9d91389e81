"""State diagrams as they stand in a real browser and on paper."""

from itertools import combinations, pairwise

import pytest

from behaviour.draw.paint import pdf, png
from behaviour.draw.shapes import Group, Picture, Words
from behaviour.draw.sheet import EDGE, PAPERS, SMALLEST, on_pages
from behaviour.draw.states import diagram
from behaviour.draw.svg import svg
from behaviour.findings import KIND, Finding, Label, Severity
from behaviour.fingerprint import fingerprint
from behaviour.pipeline import check_source
from tests.draw.browser import Measured, a_browser, contrast, overlapping_texts
from tests.draw.many_states import many_states
from tests.reading import FAULTY, ROOT, SPECS, source_of, spec

EVERY = [*SPECS, *FAULTY]


@pytest.fixture(scope="module")
def browser():
    with a_browser() as found:
        yield found


@pytest.fixture(scope="module")
def measured_props(browser):
    """Measure the diagram of every prop, without findings."""
    diagrams = {path.stem: diagram(spec(str(path.relative_to(ROOT)))) for path in EVERY}
    assert {name: drawn.complaints for name, drawn in diagrams.items() if drawn.complaints} == {}
    return {name: browser.measured(svg(drawn.sheet())) for name, drawn in diagrams.items()}


def words_of(page: Picture) -> list[Words]:
    found, todo = [], list(page.shapes)
    while todo:
        shape = todo.pop()
        if isinstance(shape, Group):
            todo += shape.shapes
        elif isinstance(shape, Words):
            found.append(shape)
    return found


# --- Nothing lies on anything else ----------------------------------------------------------------


def test_no_words_lie_on_others(measured_props):
    assert {name: overlapping_texts(each) for name, each in measured_props.items()} == {
        name: [] for name in measured_props
    }


def test_words_lie_inside_their_boxes_and_on_the_sheet(measured_props):
    for name, measured in measured_props.items():
        for text, at, _, _ in measured.texts:
            middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
            assert measured.sheet.holds(at), (name, text)
            for box, _, _ in measured.boxes:
                assert box.holds(at) or not box.has(*middle), (name, text)


def test_boxes_lie_inside_or_beside_each_other(measured_props):
    for name, measured in measured_props.items():
        boxes = [box for box, _, _ in measured.boxes]
        for at, one in enumerate(boxes):
            for other in boxes[at + 1 :]:
                apart = not one.meets(other, by=1.0)
                assert apart or one.holds(other, 1.0) or other.holds(one, 1.0), (name, one, other)


def test_no_arrow_runs_over_words_or_through_a_state(measured_props):
    assert {name: crossed_things(each) for name, each in measured_props.items()} == {
        name: [] for name in measured_props
    }


def test_no_arrow_leaves_its_frame(measured_props):
    for name, measured in measured_props.items():
        frames = [box for box, inside, _ in measured.boxes if not inside]
        for inside, points in measured.lines:
            assert inside or any(all(box.has(*p) for p in points) for box in frames), name


def test_no_arrow_crosses_another(measured_props):
    found = {
        name
        for name, each in measured_props.items()
        if any(
            meet(one, other)
            for (name_1, one), (name_2, other) in combinations(each.lines, 2)
            if not name_1 and not name_2
        )
    }

    assert found == set()


def test_a_pointer_that_would_cross_another_says_where_the_frame_begins():
    texts = [
        words.text
        for words in words_of(diagram(spec("specs/faulty/two-interlocks-tug.yaml")).sheet())
    ]

    assert "begins in singing" in texts or "begins in blowing" in texts


def meet(one: list[tuple[float, float]], other: list[tuple[float, float]]) -> bool:
    """Tell whether two lines cross, each measured point by point."""
    if max(x for x, _ in one) < min(x for x, _ in other) or max(x for x, _ in other) < min(
        x for x, _ in one
    ):
        return False
    return any(
        turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0
        for a, b in pairwise(one)
        for c, d in pairwise(other)
        if abs(a[0] - c[0]) < 4 and abs(a[1] - c[1]) < 4
    )


def turn(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
    return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])


def test_what_is_written_out_because_it_crosses_says_where_it_goes_and_what_is_found_of_it():
    model = spec("specs/lift-platform.yaml")
    interlock = model.region["lift"].transitions()[4]
    found = Finding(
        kind=KIND["never-taken"],
        severity=Severity.DOUBTFUL,
        message="a message",
        at=Label(interlock.span, ""),
    )

    texts = [words.text for words in words_of(diagram(model, (found,)).sheet())]

    assert "key is off" in texts
    assert "go coasting" in texts
    assert "doubtful: never-taken" in texts


def crossed_things(measured: Measured) -> list[str]:
    """Name what free lines run over; lines within a state belong to it."""
    free = [points for name, points in measured.lines if not name]
    states = [box for box, name, _ in measured.boxes if name.startswith(("state", "interlock"))]
    found = [
        text
        for text, at, _, _ in measured.texts
        if any(at.has(x, y, margin=2.0) for points in free for x, y in points)
    ]
    found += [
        f"state at {box.left:.0f}, {box.top:.0f}"
        for box in states
        if any(box.has(x, y, margin=3.0) for points in free for x, y in points)
    ]
    return found


# --- Seen by everybody ----------------------------------------------------------------------------


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_has_the_contrast_of_wcag_aa(browser, scheme):
    checked = check_source(source_of("specs/faulty/carousel-forgot-lid.yaml"), 20)
    picture = diagram(checked.model, checked.outcome.findings).sheet()

    measured = browser.measured(svg(picture), scheme)

    for text, at, fill, _ in measured.texts:
        middle = ((at.left + at.right) / 2, (at.top + at.bottom) / 2)
        behind = [paint for box, _, paint in measured.boxes if box.has(*middle) and paint != "none"]
        assert contrast(fill, behind[-1] if behind else measured.paper) >= 4.5, text


@pytest.mark.usefixtures("measured_props")
def test_nothing_outside_the_file_is_asked_for(browser):
    assert [url for url in browser.asked if not url.startswith(("about:", "data:"))] == []


# --- On paper -------------------------------------------------------------------------------------


def test_six_states_fit_on_a4_with_letters_of_two_and_a_half_millimetres():
    (page,) = diagram(spec("specs/confetti-carousel.yaml")).pages()

    assert sorted((page.width, page.height)) == sorted(PAPERS["a4"])
    assert min(words.size for words in words_of(page)) >= SMALLEST


def test_forty_states_in_four_regions_fit_on_a3_with_letters_of_two_and_a_half_millimetres():
    (page,) = diagram(many_states(4, 10)).pages()

    assert sorted((page.width, page.height)) == sorted(PAPERS["a3"])
    assert min(words.size for words in words_of(page)) >= SMALLEST


def test_what_is_larger_goes_on_over_numbered_pages_and_no_letter_gets_smaller():
    pages = diagram(many_states(4, 10)).pages("a4")

    assert len(pages) > 1
    for number, page in enumerate(pages, start=1):
        assert sorted((page.width, page.height)) == sorted(PAPERS["a4"])
        assert f"page {number} of {len(pages)}" in [words.text for words in words_of(page)]
        assert min(words.size for words in words_of(page)) >= SMALLEST - 1e-9
    drawn = {
        words.text
        for page in pages
        for words in words_of(page)
        if EDGE < words.at[0] < page.width - EDGE and EDGE < words.at[1] < page.height - EDGE
    }
    assert {f"s_{r}_{s}" for r in range(4) for s in range(10)} <= drawn


def test_a_sheet_that_is_too_large_is_cut_into_pages_that_overlap():
    sheet = Picture("wide", 3000.0, 300.0, (Words((1500.0, 150.0), "middle", 10.0),))

    pages = on_pages(sheet, "a4")

    assert len(pages) == 5
    xs = [words_of(page)[0].at[0] for page in pages if words_of(page)[0].text == "middle"] or [
        words.at[0] for page in pages for words in words_of(page) if words.text == "middle"
    ]
    room = PAPERS["a4"][1] - 3 * EDGE
    assert [before - after for before, after in pairwise(xs)] == pytest.approx([room] * 4)


def test_the_same_prop_gives_the_same_bytes_in_every_form():
    one, other = (diagram(spec("specs/treasure-chest.yaml")) for _ in range(2))

    assert svg(one.sheet()) == svg(other.sheet())
    assert png(one.sheet()) == png(other.sheet())
    assert pdf(one.pages()) == pdf(other.pages())


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_each_demo_prop_has_a_picture_of_what_it_is_now(path):
    picture = (ROOT / "specs" / "pictures" / f"{path.stem}.svg").read_text(encoding="utf-8")

    name = path.relative_to(ROOT)
    again = f"tablework draw {name} --unchecked --out specs/pictures/{path.stem}.svg"
    assert f"fingerprint {fingerprint(spec(str(name)))}<" in picture, f"run `{again}`"
