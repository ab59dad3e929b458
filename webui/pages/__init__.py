"""The pages, one module each; `webui.routes` gives them their addresses."""
