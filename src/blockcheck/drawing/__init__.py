"""What a drawing is made of: shapes, the plan of the track, its geometry, the feeds."""
