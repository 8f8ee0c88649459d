"""Sheets: charts, words, fabric and strands as they are drawn and read."""

SHEETS = {
    "words-empty": "{option[0]} is empty; leave it out or give some words.",
    "no-such-rounds": (
        "{option[rounds]} is '{text}'; name rounds from 1 to {count}, like 12 or 12-14."
    ),
}
