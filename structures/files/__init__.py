"""Reading and writing structure documents: every problem at once, atomic writing, exact round trip."""
