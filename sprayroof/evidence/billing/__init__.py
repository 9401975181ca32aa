"""Bills and meters read by days to what was used in each period, and how warm it was outdoors."""
