"""The checks: one pure function and one registry line each (see ``registry``)."""
