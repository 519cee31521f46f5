"""Ports that the servers listen at."""

import os
import socket

from stillwing.errors import InputError

__all__ = ["listen"]


def listen(host: str, port: int, option: str) -> socket.socket:
    """Return a listening socket.

    Parameters
    ----------
    host : str
        Address to listen at.
    port : int
        0 takes any free one.
    option : str
        The option that names the port, as errors say.

    Raises
    ------
    InputError
        If the port is taken or not allowed.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    # A port left a moment ago can be taken again; Windows would let two servers share it instead.
    if os.name == "posix":
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise InputError(f"port {port} cannot be used ({error.strerror}); name another one with {option}") from error
    listening.listen()
    return listening
