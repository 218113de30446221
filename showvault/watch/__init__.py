"""File events, settling, and the session that keeps what settled."""
