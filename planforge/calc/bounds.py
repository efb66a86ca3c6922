"""The two bounds between which a line's behaviour lies, run in one batch.

Stiff ends and the highest deployment force give the greatest tension; soft ends and the lowest
force give the greatest drop and use the most stroke. A stroke that runs out under the low force can
still make that case the greater in tension: strength checks take the greater of both.
Source: CSA Z259.16's upper and lower values, as commonly described.
"""

STRENGTH, CLEARANCE = 0, 1
"""Index of each bound along the leading axis of a stack."""
