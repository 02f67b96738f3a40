"""Own profiles: charts, measurements, models, and ICC profiles built from them."""
