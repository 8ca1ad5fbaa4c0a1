"""The pages in a real browser: headless Chromium of the system, against the live server of the test."""
