"""The parts of make_samples.py."""


