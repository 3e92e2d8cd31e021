import os

# Each process of the tests has a core of its own, where threads of numpy wait for one another.
# Set before numpy is loaded; who has set it otherwise is heard.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
