"""One function per verb, values in and values out: what the command line does, and the library's public face.

A verb's module is read when the verb is first asked for: most commands need few of them.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
