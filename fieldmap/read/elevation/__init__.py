"""Files of heights -> the elevation around the plots, in the working CRS."""
