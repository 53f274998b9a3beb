"""What every test shares."""

from hypothesis import settings

# The same examples on every machine and every day: a red test can be seen red again. A longer, random
# search is `pytest --hypothesis-profile=search`.
settings.register_profile("same", derandomize=True, deadline=None, database=None)
settings.register_profile("search", max_examples=2000, deadline=None)
settings.load_profile("same")
