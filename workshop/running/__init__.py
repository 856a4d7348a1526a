"""Running the house on one machine: the broker made of files, the worker, and web and worker together."""
