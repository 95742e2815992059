"""Starter folders for `bellywork new`."""
