"""What a result looks like: as a picture (SVG, PNG; matplotlib) or as text in a terminal."""
