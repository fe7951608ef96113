"""Points and angles of a plane, the reader of tables, and the one tree of errors."""
