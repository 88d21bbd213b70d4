"""The page on which a place is drawn, asked about, planned and tried out, on loopback.

`app.application` is what answers; `offline.page` is its drawing part as one file. What is
drawn lies in a draft until it is saved; then the files of the site are those that a person
would have written, see `files`.
"""
