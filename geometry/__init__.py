"""Pure geometry of disc-brake mounts: numbers in, numbers out; no paper, no files but its own tables.

Lengths are millimetres and angles degrees at every public border. Axes: origin where the axle line
meets the inner face of the left dropout; x rearward, y up, z outboard (to the rider's left).
"""
