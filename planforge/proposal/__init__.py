"""A layout chosen from the building's geometry: candidates, their margins, and an exact cover of every
edge.
"""
