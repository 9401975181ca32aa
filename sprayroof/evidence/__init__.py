"""What the auditor brings, made trustworthy: the site file, weather, logs, bills, twin rooms.

The front doors stand here: `site`, `weather`, `load_series`, `read_logs` (which gives `logs.Logs`), `bills`,
`twin_series`; beside them what all of them use. Their rooms are the folders.
"""
