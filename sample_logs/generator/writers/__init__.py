"""One module a kind of file: what was written down, as the bytes a device or a person leaves behind."""
