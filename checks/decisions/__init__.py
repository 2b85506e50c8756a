"""Release, hold or reject, and the evidence that a decision freezes."""
