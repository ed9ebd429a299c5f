"""The jobs of a folder as pages for a phone, tablet or laptop at the vehicle.

In come requests from the workshop's own network; out go pages made on this machine, thin over `Job` and the
conversation in `present`. `server.serve` starts it, `app.make_app` is the same without a socket; nothing is reasoned
here.
"""
