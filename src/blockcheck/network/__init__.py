"""A circuit in one state, with ohms: the next station of the data."""
