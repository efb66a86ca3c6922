"""Constants shared by the calculations."""

from __future__ import annotations

#: Standard acceleration of gravity, m/s² (ISO 80000-3; exact by definition).
G = 9.80665

#: Stations along a line for the envelopes stand one foot apart, m (exact by definition of the foot).
STATION_STEP = 0.3048
