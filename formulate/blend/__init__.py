"""The mix as mathematics: matrices in, results out; no files, no printing, no pandas."""
