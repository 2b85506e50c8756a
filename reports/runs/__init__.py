"""The figure of a run: what its log says, drawn and in words."""
