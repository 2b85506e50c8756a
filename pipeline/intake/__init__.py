"""Taking files in: the order of the stages, the session that receives, previews and drafts of source maps."""
