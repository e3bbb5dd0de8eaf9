"""Tests of `dictate batch`."""
