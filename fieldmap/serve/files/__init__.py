"""What the page reads of a site and writes: outlines, choices, and the draft of both."""
