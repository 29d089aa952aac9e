"""The whole job once, on the invented fixtures, with checks that do not trust the code that they check."""
