-- Cycles per mm at which a condition's ink and paper keep half the contrast; null while nobody has measured it.
ALTER TABLE conditions ADD COLUMN ink_spread_per_mm REAL;
