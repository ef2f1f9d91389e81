"""Regions: `transitions` holds their states."""

from transitions.extensions.nesting import HierarchicalMachine, NestedState


class State(NestedState):
    """A state; one inside another is written after a point, as in `travel.rise`."""

    separator = "."


class Machine(HierarchicalMachine):
    state_cls = State


class Region:
    """A region. Its machine holds `state`, and refuses every way that the file does not have.

    Hang callbacks of your own on its states with `machine.get_state(...).add_callback(...)`.
    """

    def __init__(self, states, ways, begins):
        self.machine = Machine(
            self,
            states=states,
            transitions=[[f"go {target}", sources, target] for sources, target in ways],
            initial=begins,
            auto_transitions=False,
        )
        self.places = frozenset(self.machine.get_nested_state_names())

    def is_upset(self):
        """Tell whether it is in a state that there is not."""
        return self.state not in self.places

    def go(self, state):
        """Take the way to a state: the machine leaves and enters what lies between."""
        self.trigger(f"go {state}")
