"""From a folder of outlines, elevation and weather to a plan that can be built."""
