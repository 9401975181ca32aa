"""Weather as files hold it: hourly files, tables, rain records, and whether they can be believed."""
