-- Where in its warehouse a cask lies, apart from the warehouse: row, tier, rack.
ALTER TABLE IF EXISTS typed.casks ADD COLUMN IF NOT EXISTS position VARCHAR;
ALTER TABLE IF EXISTS typed.cask_events ADD COLUMN IF NOT EXISTS position VARCHAR;
