-- A light's own spectrum: relative power every 5 nm from 380 to 780 nm; an empty list when it is not known.
ALTER TABLE lights ADD COLUMN spectrum TEXT NOT NULL DEFAULT '[]';
