"""How the whole suite runs: the same cases every time, unless somebody goes looking for others."""

import os

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.register_profile("explore", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("SHOWVAULT_HYPOTHESIS", "steady"))
