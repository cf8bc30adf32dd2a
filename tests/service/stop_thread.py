"""Stops one thread of another process, alone, until that process has ended.

usage: stop_thread.py PID NAME
"""
import ctypes
import os
import sys

SEIZE, INTERRUPT, WALL = 0x4206, 0x4207, 0x40000000  # ptrace(2), waitpid(2)

pid, name = sys.argv[1:]
threads = [int(task) for task in os.listdir(f"/proc/{pid}/task")
           if open(f"/proc/{pid}/task/{task}/comm", encoding="ascii").read().strip() == name]
thread, = threads
libc = ctypes.CDLL(None, use_errno=True)
for request in (SEIZE, INTERRUPT):
    if libc.ptrace(request, thread, None, None) != 0:
        sys.exit(os.strerror(ctypes.get_errno()))
status = os.waitpid(thread, WALL)[1]
while os.WIFSTOPPED(status):
    status = os.waitpid(thread, WALL)[1]  # its end is told to us, and nobody goes on before that
