"""Properties are judged by what they compute, not by how busy the machine is."""

from hypothesis import settings

settings.register_profile("engineering", deadline=None)
settings.load_profile("engineering")
