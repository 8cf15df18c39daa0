"""Find a port that nobody listens on."""

import socket

HOST = "127.0.0.1"
USUAL_PORT = 8000
NEIGHBOURS = 20


def is_free(port: int) -> bool:
    """Whether a server could listen on this port of this machine now."""
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        # As servers do: a port that only remembers closed connections is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, port))
        except OSError:
            return False
    return True


def free_port_near(port: int) -> int:
    """Return the wanted port if it is free, else one of the next few, else any that the system gives."""
    for candidate in range(port, min(port + NEIGHBOURS, 65536)):
        if is_free(candidate):
            return candidate
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.bind((HOST, 0))
        return int(probe.getsockname()[1])
