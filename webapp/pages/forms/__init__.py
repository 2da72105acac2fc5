"""Forms of the three sheets, made from their models: read out of a document, written back with its comments kept."""
