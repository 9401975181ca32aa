"""The time column of a log: stamps, zones, daylight saving, and how a row is named."""
