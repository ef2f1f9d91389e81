"""Selectors: several pins, of which one is chosen."""


class Selector:
    """A pin for each value but one at most, which is what is read while no other is chosen."""

    def __init__(self, pins, pull, otherwise):
        chosen_low = pull == "up"
        self.contacts = {
            value: Contact(pin, pull, chosen_low, (False, True)) for value, pin in pins.items()
        }
        self.otherwise, self.last = otherwise, otherwise or next(iter(pins))

    def read(self):
        """Give the value whose pin is chosen; between two of them, what was read last."""
        chosen = [value for value, contact in self.contacts.items() if contact.read()]
        if len(chosen) == 1:
            self.last = chosen[0]
        elif not chosen and self.otherwise is not None:
            self.last = self.otherwise
        return self.last

    def close(self):
        for contact in self.contacts.values():
            contact.close()
