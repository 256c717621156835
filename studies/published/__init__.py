"""Values published by others, each beside our own computation of it: one file a topic."""
