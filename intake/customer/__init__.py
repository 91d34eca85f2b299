"""What a customer sees through a link: the quote, the choice, the go-ahead."""
