"""The page in hand served from this computer: it follows the files, and answers what a file cannot."""
