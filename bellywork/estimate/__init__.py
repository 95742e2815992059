"""One estimate of this very board from its description and all that was read on it, with a band on every number."""
