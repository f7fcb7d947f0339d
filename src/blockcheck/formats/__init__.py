"""Answer to text, one module a format. A renderer knows formats, not files, and computes nothing."""
