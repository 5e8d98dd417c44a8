"""The page in the browser, over HTTP. Start reading at app.py; what the browser gets lies in assistant/page/."""
