"""Settings for every test: property tests draw the same examples each time and know no deadline.

`HYPOTHESIS_PROFILE=explore pytest tests/properties` looks for new ones.
"""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, max_examples=2000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "steady"))
