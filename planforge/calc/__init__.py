"""Pure calculation on floats and arrays: one topic a file, each equation with its source.

SI units throughout. x runs along the line from its left end, z is up, sag and drop
are down and positive. Nothing here reads a file or knows a job.
"""
