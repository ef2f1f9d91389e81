"""The numbers behind a behaviour: motion, torque, power, stations, noise."""
