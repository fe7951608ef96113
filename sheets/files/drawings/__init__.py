"""Drawings that somebody gives: SVG and DXF read as flat lines in mm, bounded, and nothing in them is run.

Libraries were weighed. Most of these lines say what is refused and why, by layer and name, and would stay.
svgelements 1.9.6 resolves paths and transforms, a quarter of them, but passes by what it does not know,
scripts among it. ezdxf 1.4 takes 0.5 s of processor and 23 MB to load, for arcs and splines, and is needed
only with `--dxf`.
"""
