"""The counter page: a kit put together with a customer on the phone, served as plain HTML."""
