"""RS-274/NGC text in, facts out: ``read``, ``trace``, ``plan``, ``prove``, and ``examine`` for all four.

Nothing here touches a disk, a clock or the web.
"""
