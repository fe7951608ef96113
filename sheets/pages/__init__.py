"""One printed sheet a module: a placement in, a Sheet value out.

A full-size sheet begins with `frame.furnish`, which draws title block and bars and returns the zone that is
left. It shows what is measured with `Drawing.show`, names it with `callout` or `column`, which find a free
place or refuse, and ends with `frame.finish`, which refuses ink in the margin. None is drawn without the
set-up, so that none lacks its stamp.
"""
