-- Whether a sample was distilled before its strength was read; of older records nobody said.
ALTER TABLE typed.movements ADD COLUMN preparation VARCHAR;
ALTER TABLE typed.stock ADD COLUMN preparation VARCHAR;
ALTER TABLE typed.laboratory ADD COLUMN preparation VARCHAR;
