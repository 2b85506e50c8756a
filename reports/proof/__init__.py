"""That documents and book are what they claim: verification, signatures, the auditor's pack."""
