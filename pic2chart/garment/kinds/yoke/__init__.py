"""A jumper with a round yoke."""
