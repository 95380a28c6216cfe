"""ifclint reviews the plumbing in open IFC building models before anything is built."""

from pkgutil import extend_path

__version__ = "0.3.0"
# In a checkout the rule packs (ifclint.rules) stand in a folder of their own, plugins/.
__path__ = extend_path(__path__, __name__)
