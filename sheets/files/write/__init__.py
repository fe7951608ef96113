"""Writers, one library a module, and the delivery of whole files."""
