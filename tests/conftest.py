"""What holds for all tests."""

import hypothesis

# A shared machine may pause any test; the same code gets the same examples.
hypothesis.settings.register_profile("ours", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ours")
