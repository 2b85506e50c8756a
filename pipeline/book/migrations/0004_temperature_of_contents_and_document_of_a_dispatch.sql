-- At which temperature a sampled content was that volume: of older records 20 °C. By which document a return had left.
ALTER TABLE typed.fills ADD COLUMN IF NOT EXISTS content_temperature_c DOUBLE;
ALTER TABLE IF EXISTS typed.returns ADD COLUMN IF NOT EXISTS dispatch_document VARCHAR;
