"""Whether logged channels can be believed: each by itself, against the others, and against tests on site."""
