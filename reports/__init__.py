"""Flags and quantities to pages.

In: derived.*, flagged.* and what they rest on. Out: dossiers, trends, accounts and traces as PDF, and the command line.
"""
