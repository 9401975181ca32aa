"""What the auditor brings, made trustworthy: the site file, weather and logs."""
