"""From what people have (a walk, a drawing, corners) to a site folder.

outline/    files and walks -> plots and surroundings
elevation/  a file or an address -> elevation.tif around the plots
weather/    a file or an archive -> weather.csv
net/        the one place that asks a network, and only when the user says so
options.py  what the user wrote -> given.py    run.py  the steps in their order
folder.py   the folder written whole           demo_site.py  the invented farm
"""
