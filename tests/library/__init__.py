"""Tests of the library of earlier tests."""
