"""The only place with a memory: the time loop, the ensemble and their summaries."""
