"""What holds for all tests."""

import hypothesis

# A shared machine may pause any test; the same code gets the same examples.
hypothesis.settings.register_profile("ours", deadline=None, derandomize=True)
hypothesis.settings.load_profile("ours")

# Files that run whole plans take minutes: begun first, they leave no core idle at the end.
LONG = ("test_readme.py", "test_demo_site.py")


def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: item.path.name not in LONG)
