"""What is written on the pages of a printed sheet."""

import pypdfium2

# The reader's sign for a hyphen at the end of a line.
HYPHEN_AT_END = "\ufffe"


def words_on_pages(pdf):
    """The words of each page, one blank between them; of the bytes of a PDF."""
    read = pypdfium2.PdfDocument(pdf)
    try:
        return [" ".join(_text(page).split()) for page in read]
    finally:
        read.close()


def _text(page):
    text = page.get_textpage()
    try:
        return text.get_text_range().replace(HYPHEN_AT_END, "-")
    finally:
        text.close()
        page.close()
