"""The library: a folder of pictures becomes charts, a catalogue, a contact sheet and a booklet.

The way through the room: `recipe` (what is wanted) and `scan` (what there is) give `batch` its
tasks; `motif` does one of them anywhere (`crew`: here, on all cores; `cluster`: elsewhere); `publish`
puts what was made into its place and into the `catalogue`; `pages` writes the contact sheet and the
booklet from the catalogue; `find` and `fit` ask it.
"""
