"""Settings that all tests share: how many examples a law is tried on, and a home that is not the user's."""

import os
import tempfile

from hypothesis import settings

# Commands that keep things between runs would otherwise read, and change, what their user keeps.
os.environ["DROPLEAF_HOME"] = tempfile.mkdtemp(prefix="dropleaf-home-")

settings.register_profile("dev", max_examples=25, deadline=None)
settings.register_profile("ci", max_examples=40, deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "dev")
