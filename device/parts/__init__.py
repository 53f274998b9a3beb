"""The real world, one thin module a part. Libraries are imported where a part is built, never here."""
