"""The desk: the same pipeline as a page in the builder's own browser, served on this machine alone.

`serve.py` runs it, `guard.py` says who may ask, `app.py` puts the pages together, `state.py` knows the
folder, `shown.py` makes answers. A page is a module with ROUTES, a template and an ES module of its name in
`static/`. Nothing that people read stands in Python, templates or scripts: `tell`, or `data-` attributes.
"""
