"""The mutator itself, and the table of mutants that live."""

from tests.firmware.mutants import mutants_of
from tests.firmware.props import demo_names
from tests.firmware.survivors import table

HEADER = """\
enum lamp {
    LAMP_OFF, /* off == dark */
    LAMP_RED,
    LAMP_GREEN
};
"""
SOURCE = """\
/* Not code: a > b && !c. */
#define LOOPS(ms) (ms)

static void look(struct prop *prop)
{
    if (prop->changed && (prop->n >= 2)) {
        /* 3: when n >= 2 */
        enter(prop, LAMP_GREEN);
    } else if (!lasted(prop->time, LOOPS(TIME))) {
        prop->time = 0u;
    }
    switch (prop->lamp) {
    case LAMP_OFF:
        break;
    default:
        break;
    }
}
"""


def made() -> dict[str, str]:
    """Map each mutant to the line that is changed in it."""
    right = SOURCE[SOURCE.index("static") :].splitlines()
    found = {}
    for mutant in mutants_of(SOURCE, HEADER):
        pairs = zip(right, mutant.text.splitlines(), strict=False)
        found[mutant.name] = next(now.strip() for was, now in pairs if was != now)
    return found


def test_each_rule_changes_one_thing_in_the_code_and_nothing_in_a_comment():
    first, second = (
        "if (prop->changed && (prop->n >= 2)) {",
        "} else if (!lasted(prop->time, LOOPS(TIME))) {",
    )

    assert made() == {
        f"look: compared the other way: {first}": first.replace(">=", "<"),
        f"look: compared one beside: {first}": first.replace(">=", ">"),
        f"look: and for or: {first}": first.replace("&&", "||"),
        f"look: not left out: {second}": second.replace("!", ""),
        "look: always: prop->changed": "if (true && (prop->n >= 2)) {",
        "look: always: (prop->n >= 2)": "if (prop->changed && true) {",
        "look: always: !lasted(prop->time, LOOPS(TIME))": "} else if (true) {",
        "look: never: prop->changed": "if (false && (prop->n >= 2)) {",
        "look: never: (prop->n >= 2)": "if (prop->changed && false) {",
        "look: never: !lasted(prop->time, LOOPS(TIME))": "} else if (false) {",
        "look: left out: enter(prop, LAMP_GREEN);": ";",
        "look: left out: prop->time = 0u;": ";",
        "look, case LAMP_OFF: goes on into the next case: break;": ";",
        "look, default: goes on into the next case: break;": ";",
        "look: no such case: case LAMP_OFF:": ";",
        "look: waits a loop longer: LOOPS(TIME)": second.replace(
            "LOOPS(TIME)", "(LOOPS(TIME) + 1u)"
        ),
        "look: waits a loop less: LOOPS(TIME)": second.replace("LOOPS(TIME)", "(LOOPS(TIME) - 1u)"),
        "look: another value: LAMP_GREEN": "enter(prop, LAMP_OFF);",
        "look: transitions swapped: if (prop->changed && (prop->n >= 2)) { enter(prop, LAMP_GREE "
        "... E))) { prop->time = 0u; }": "if (!lasted(prop->time, LOOPS(TIME))) {",
        f"look: one more: {first}": first.replace("2", "3"),
        "look: one more: 0u": "prop->time = 1u;",
    }


def test_every_mutant_that_lives_stands_once_under_a_reason_and_belongs_to_a_demo_prop():
    rows = [row for each in table().values() for row in each]

    assert len(set(rows)) == len(rows)
    assert all(len(reason.split()) >= 5 and found for reason, found in table().items())
    assert {prop for prop, _ in rows} == set(demo_names())
