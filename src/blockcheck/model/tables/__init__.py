"""What single tables of a description mean once they are read."""
