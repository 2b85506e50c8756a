"""The release dossier of a batch: what is gathered for it, its sections, its data."""
