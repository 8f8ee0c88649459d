"""The library: a folder of pictures becomes charts, a catalogue, a contact sheet and a booklet."""
