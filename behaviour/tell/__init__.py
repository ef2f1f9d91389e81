"""A behaviour put before people: as sentences to sign, as a table, as the operator's card."""
