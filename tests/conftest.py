"""Settings for all tests: a busy machine is no failure, so hypothesis sets no deadline."""

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
