"""What follows what along the line of a job. Read this first.

Each function is one thing that happened, with its consequences in order, by plain calls. Views call these;
services never do. Background work is started when the transaction has ended.
"""
