"""What every test shares."""

import signal

from hypothesis import settings

# The same examples on every machine and every day: a red test can be seen red again. A longer, random
# search is `pytest --hypothesis-profile=search`.
settings.register_profile("same", derandomize=True, deadline=None, database=None)
settings.register_profile("search", max_examples=2000, deadline=None)
settings.load_profile("same")

# A shell starts what it puts in the background deaf to ctrl-C, and that is inherited: without this
# the tests that interrupt a program would wait for ever there.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
