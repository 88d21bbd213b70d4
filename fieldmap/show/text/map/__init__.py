"""Every sentence that people read in the map, by what it is about.

Constants are marked and translated where they are used; functions give texts in the
current language. Words that other papers share are in the modules beside this package.
"""
