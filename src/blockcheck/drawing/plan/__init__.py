"""The plan of the track: turnouts taken together until lines and rings of nested parts are left."""
