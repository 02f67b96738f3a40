-- What must not suffer when a map is chosen for the picture: kinds by name, places as 'row,column,height,width'.
ALTER TABLE tickets ADD COLUMN must_not_suffer TEXT NOT NULL DEFAULT '[]';
