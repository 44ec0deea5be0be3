"""Settings for all tests: a busy machine is no failure, so hypothesis sets no deadline; and Ctrl-C works in what they start.

A shell lets what it starts in the background ignore that signal, and so would every program begun from there.
"""

import signal

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
if signal.getsignal(signal.SIGINT) == signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
