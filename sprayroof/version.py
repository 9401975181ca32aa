"""The version, alone in a file so that packaging can read it without importing anything."""

VERSION = "0.1.0"
