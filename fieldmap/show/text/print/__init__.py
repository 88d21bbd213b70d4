"""The words of the printed sheets, a file for each."""
