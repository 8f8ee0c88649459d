"""Pictures: read from a file, turned upright, cropped, and the subject found in them."""

from pic2chart.picture.box import Box
from pic2chart.picture.decode import Picture, load_picture, read_head
from pic2chart.picture.subject import Subject, find_subject

__all__ = ["Box", "Picture", "Subject", "find_subject", "load_picture", "read_head"]
