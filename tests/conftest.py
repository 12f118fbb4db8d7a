"""Shared by all tests."""

pytest_plugins = ("tests.outside_plugin",)
