"""What the trade knows: pure functions over frozen values. No I/O, no clock, no database, no screen."""
