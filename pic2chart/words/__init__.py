"""Words: every round of a chart as runs in knitting order, written out and read back."""

from pic2chart.words.read import read_words
from pic2chart.words.spoken import Group, Run, Spoken, speak
from pic2chart.words.write import words_markdown, words_text

__all__ = ["Group", "Run", "Spoken", "read_words", "speak", "words_markdown", "words_text"]
