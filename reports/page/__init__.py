"""What every document is made of: templates to PDF, drawings, faces, words of a language, its entry in the register."""
