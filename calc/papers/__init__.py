"""The papers that go with a job. HTML comes from templates through a renderer that the caller passes in."""
