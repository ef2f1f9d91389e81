"""Servos."""

from gpiozero import AngularServo


class Servo:
    """A servo: for each value the angle that it goes to, of 0 to 180 degrees."""

    def __init__(self, pin, degrees, rest):
        self.degrees, self.at_rest, self.driven = degrees, rest, rest
        self.device = AngularServo(
            pin,
            initial_angle=degrees[rest],
            min_angle=0,
            max_angle=180,
            min_pulse_width=544e-6,
            max_pulse_width=2400e-6,
        )

    def drive(self, value, now_ms):
        if value != self.driven:
            self.driven = value
            self.device.angle = self.degrees[value]

    def rest(self):
        self.driven = self.at_rest
        self.device.angle = self.degrees[self.at_rest]

    def close(self):
        self.device.close()
