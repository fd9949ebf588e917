"""The pages: server-rendered, made for a phone first; they only ever talk to `trayward.Farm`."""
