"""The language server: what an editor shows of a layout while it is written. Thin over the library."""
