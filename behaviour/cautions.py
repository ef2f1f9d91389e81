"""The cautions that whatever is printed or emitted for the bench carries. It knows no model."""

CAUTIONS = (
    "A software interlock is not a safety-rated one.",
    "Wire a cut-off that takes power from everything dangerous without any software.",
    "Keep hands out and wear eye protection.",
    "Test first with the motor uncoupled and on a current-limited supply.",
    "Charge packs attended, on a fireproof base, and never a swollen one.",
    "Vent pressure before opening.",
    "Follow local codes.",
    "Have machinery, pyrotechnics, pressure and mains work done or passed by a licensed person.",
)
