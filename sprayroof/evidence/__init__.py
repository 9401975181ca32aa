"""What the auditor brings, made trustworthy: the site file, weather, and later logs and bills."""
