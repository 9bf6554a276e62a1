"""A page on this machine to work with a plan: `scheduler.page.app.create_app`."""
