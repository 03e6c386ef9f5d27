package scenario

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

func receive(s *Receive, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("%d × %s of %s come in for %s", s.Count, s.Package, s.Product, s.Cost), func(p *player) error {
		product, err := p.product(s.Product)
		if err != nil {
			return err
		}
		cost, err := p.money(s.Cost)
		if err != nil {
			return err
		}
		_, err = p.shop.Materials.ReceiveStock(p.ctx, &materialsv1.ReceiveStockRequest{RequestId: newRequest(), Product: product, Cost: cost,
			Amount:   &materialsv1.ReceiveStockRequest_Packages_{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: s.Package, Count: s.Count}},
			Supplier: s.Supplier, ReceiveTime: at})
		return err
	}
}

func issue(s *Issue, at *timestamppb.Timestamp) (string, run) {
	if s.Batch != "" {
		return issueToBatch(s, at)
	}
	return fmt.Sprintf("%s %s of %s go to %s of piece %s", s.Quantity.Value, s.Quantity.Unit, s.Product, s.Stage, s.Piece), func(p *player) error {
		product, err := p.product(s.Product)
		if err != nil {
			return err
		}
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		resp, err := p.shop.Materials.IssueMaterial(p.ctx, &materialsv1.IssueMaterialRequest{
			RequestId: newRequest(), Product: product, Quantity: s.Quantity.message(), Stage: stage, IssueTime: at})
		p.pieces[s.Piece].issues[s.Stage+" "+s.Product] = resp.GetIssue().GetName()
		return err
	}
}

func takeBack(s *TakeBack, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("%s comes back from %s of piece %s (%s)", s.Product, s.Stage, s.Piece, s.Reason), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		issue := piece.issues[s.Stage+" "+s.Product]
		if issue == "" {
			return fmt.Errorf("no %s went to %s of piece %s", s.Product, s.Stage, s.Piece)
		}
		_, err = p.shop.Materials.TakeBackIssue(p.ctx, &materialsv1.TakeBackIssueRequest{RequestId: newRequest(), Issue: issue, Reason: s.Reason, TakeBackTime: at})
		return err
	}
}

func list(s *Listing, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s is listed at %s (%s)", s.Piece, s.Price, s.Channel), func(p *player) error {
		piece, price, err := p.priced(s.Piece, s.Price)
		if err != nil {
			return err
		}
		_, err = p.shop.Sales.CreateListing(p.ctx, &salesv1.CreateListingRequest{
			RequestId: newRequest(), Piece: piece.name, Channel: s.Channel, AskingPrice: price, ListTime: at})
		return err
	}
}

func reprice(s *Listing, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s is now asked for at %s (%s)", s.Piece, s.Price, s.Reason), func(p *player) error {
		piece, price, err := p.priced(s.Piece, s.Price)
		if err != nil {
			return err
		}
		_, err = p.shop.Sales.ChangeAskingPrice(p.ctx, &salesv1.ChangeAskingPriceRequest{
			RequestId: newRequest(), Piece: piece.name, AskingPrice: price, Reason: s.Reason, ChangeTime: at})
		return err
	}
}

func (p *player) priced(tag, price string) (*piece, *moneyv1.Money, error) {
	piece, err := p.piece(tag)
	if err != nil {
		return nil, nil, err
	}
	m, err := p.money(price)
	return piece, m, err
}

func sell(s *Sale, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s is sold for %s", s.Piece, s.Price), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r := &salesv1.SellPieceRequest{RequestId: newRequest(), Piece: piece.name, Channel: s.Channel, Buyer: s.Buyer, SaleTime: at}
		if r.Price, r.Tax, r.Fee, err = p.three(s.Price, s.Tax, s.Fee); err != nil {
			return err
		}
		resp, err := p.shop.Sales.SellPiece(p.ctx, r)
		piece.sale = resp.GetSale().GetName()
		return err
	}
}

func refund(s *Refund, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("money goes back for piece %s (%s)", s.Piece, s.Reason), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r := &salesv1.RefundSaleRequest{RequestId: newRequest(), Sale: piece.sale, PieceReturned: s.Returned, Reason: s.Reason, RefundTime: at}
		if r.Price, r.Tax, r.Fee, err = p.three(s.Price, s.Tax, s.Fee); err != nil {
			return err
		}
		_, err = p.shop.Sales.RefundSale(p.ctx, r)
		return err
	}
}

func (p *player) three(price, tax, fee string) (a, b, c *moneyv1.Money, err error) {
	if a, err = p.money(price); err != nil {
		return a, b, c, err
	}
	if b, err = p.money(tax); err != nil {
		return a, b, c, err
	}
	c, err = p.money(fee)
	return a, b, c, err
}

func scrap(s *Scrap, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s is given up (%s)", s.Piece, s.Reason), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		_, err = p.shop.Intake.ScrapPiece(p.ctx, &intakev1.ScrapPieceRequest{RequestId: newRequest(), Piece: piece.name, Reason: s.Reason, ScrapTime: at})
		return err
	}
}
