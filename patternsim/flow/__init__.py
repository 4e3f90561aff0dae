"""How hot steel flows between tools: a plane section, worked out by finite elements.

Knows no layers, no job and no window: outlines and tools in, a backward map and a report out.
Lengths in any one unit, strength 1 at rate 1 unless told; forces scale afterwards.
"""
