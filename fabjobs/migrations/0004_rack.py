import uuid
from collections import defaultdict
from decimal import ROUND_HALF_UP, Decimal

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def bring_over(apps, schema_editor):
    """Sheets logged and offcuts returned become pieces of the rack with their ledger; a line struck out, one that is
    corrected."""
    item_of, move_of = apps.get_model("fabjobs", "StockItem"), apps.get_model("fabjobs", "StockMove")
    number = 0

    def move(item, line, key, at=None, **given):
        made = move_of.objects.create(item=item, form_key=key, **{"by_id": line.by_id, **given})
        move_of.objects.filter(pk=made.pk).update(at=at or line.at)
        return made

    def undo(made, line):
        move(
            made.item, line, uuid.uuid4(), at=line.struck_at, kind=made.kind, on_hand=-made.on_hand, of_stock=made.of_stock, corrects=made,
            fabrication_id=made.fabrication_id, by_id=line.struck_by_id, reason=line.struck_why,
        )

    def item(line, form, label, area, price):
        nonlocal number
        number += 1
        return item_of.objects.create(
            number=number, form=form, label=label or "sheet", alloy=line.alloy, thickness=line.thickness,
            length=line.length, width=line.width, area=area, mass=line.mass, price=price,
            from_job_id=line.fabrication_id if form == "offcut" else None,
        )

    paid = defaultdict(lambda: [Decimal(0), 0.0])
    for line in apps.get_model("fabjobs", "SheetUsed").objects.order_by("pk"):
        sheet = item(line, "sheet", line.label, line.length * line.width, line.price)
        given = {"fabrication_id": line.fabrication_id}
        bought = move(sheet, line, uuid.uuid5(line.form_key, "bought"), kind="bought", on_hand=line.count, **given)
        issued = move(sheet, line, line.form_key, kind="issued", on_hand=-line.count, of_stock=line.label, **given)
        if line.struck_at is not None:
            undo(issued, line)
            undo(bought, line)
        else:
            paid[line.fabrication_id][0] += line.price * line.count
            paid[line.fabrication_id][1] += line.mass * line.count
    for line in apps.get_model("fabjobs", "OffcutReturned").objects.order_by("pk"):
        money, mass = paid[line.fabrication_id]
        share = Decimal(repr(min(1.0, line.mass / mass))) if mass else Decimal(0)
        price = (money * share).quantize(Decimal("0.01"), ROUND_HALF_UP)
        kept = item(line, "offcut", "offcut", line.area, price)
        returned = move(kept, line, line.form_key, kind="returned", on_hand=line.count, fabrication_id=line.fabrication_id)
        if line.struck_at is not None:
            undo(returned, line)


class Migration(migrations.Migration):

    dependencies = [
        ('fabjobs', '0003_saw'),
    ]

    operations = [
        migrations.CreateModel(
            name='StockItem',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('form', models.CharField(choices=[('sheet', 'sheet'), ('offcut', 'offcut')], max_length=6)),
                ('label', models.CharField(max_length=40)),
                ('alloy', models.CharField(max_length=40)),
                ('thickness', models.FloatField(verbose_name='thickness, mm')),
                ('length', models.FloatField(verbose_name='length, mm')),
                ('width', models.FloatField(verbose_name='width, mm')),
                ('outline', models.JSONField(blank=True, null=True, verbose_name='outline, mm')),
                ('area', models.FloatField(verbose_name='area of one, mm2')),
                ('mass', models.FloatField(verbose_name='mass of one, kg')),
                ('price', models.DecimalField(decimal_places=2, max_digits=10, verbose_name='price of one')),
                ('place', models.CharField(blank=True, default='', max_length=80)),
                ('from_job', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='offcuts_kept', to='fabjobs.fabrication')),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.CreateModel(
            name='StockMove',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('form_key', models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('kind', models.CharField(choices=[('bought', 'bought'), ('reserved', 'reserved'), ('released', 'released'), ('issued', 'issued'), ('returned', 'returned'), ('scrapped', 'scrapped'), ('counted', 'counted')], max_length=8)),
                ('on_hand', models.IntegerField(default=0)),
                ('reserved', models.IntegerField(default=0)),
                ('of_stock', models.CharField(blank=True, default='', max_length=40, verbose_name='the label it has in the plan')),
                ('by_itself', models.BooleanField(default=False, verbose_name='made by a tick or a plan, not by hand')),
                ('reason', models.CharField(blank=True, default='', max_length=500)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='fabjobs.stockmove')),
                ('fabrication', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='stock_moves', to='fabjobs.fabrication')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moves', to='fabjobs.stockitem')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.AddIndex(
            model_name='stockitem',
            index=models.Index(fields=['alloy', 'thickness'], name='stock_by_metal'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(('number__gte', 1)), name='stock_numbered_from_1', violation_error_message='Pieces count from 1.'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(('form__in', ['sheet', 'offcut']), models.Q(('label', ''), _negated=True)), name='stock_has_a_form', violation_error_message='It is a sheet or an offcut, and has a label.'),
        ),
        migrations.AddConstraint(
            model_name='stockitem',
            constraint=models.CheckConstraint(condition=models.Q(('area__gt', 0), ('length__gt', 0), ('mass__gt', 0), ('price__gte', 0), ('thickness__gt', 0), ('width__gt', 0), models.Q(('alloy', ''), _negated=True)), name='stock_has_a_size', violation_error_message='It has a metal, a length and a width above 0, and a price of 0 or more.'),
        ),
        migrations.AddIndex(
            model_name='stockmove',
            index=models.Index(fields=['fabrication', 'kind'], name='moves_of_a_job'),
        ),
        migrations.AddConstraint(
            model_name='stockmove',
            constraint=models.CheckConstraint(condition=models.Q(('corrects__isnull', False), models.Q(('kind__in', ('bought', 'returned')), ('on_hand__gte', 1), ('reserved', 0)), models.Q(('kind', 'reserved'), ('on_hand', 0), ('reserved__gte', 1)), models.Q(('kind', 'released'), ('on_hand', 0), ('reserved__lte', -1)), models.Q(('kind', 'issued'), ('on_hand__lte', -1), ('reserved__gte', models.F('on_hand')), ('reserved__lte', 0)), models.Q(('kind', 'scrapped'), ('on_hand__lte', -1), ('reserved', 0)), models.Q(('kind', 'counted'), ('reserved', 0)), _connector='OR'), name='move_goes_its_way', violation_error_message='Bought and returned add pieces, issued and scrapped take them.'),
        ),
        migrations.AddConstraint(
            model_name='stockmove',
            constraint=models.CheckConstraint(condition=models.Q(('fabrication__isnull', False), ('kind__in', ('bought', 'scrapped', 'counted')), _connector='OR'), name='move_names_its_job', violation_error_message='What is reserved, issued or returned is so for a job.'),
        ),
        migrations.AddConstraint(
            model_name='stockmove',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('corrects__isnull', True), models.Q(('kind__in', ('scrapped', 'counted')), _negated=True)), models.Q(('reason', ''), _negated=True), _connector='OR'), name='move_says_why', violation_error_message='What is scrapped, counted or corrected needs a reason.'),
        ),
        migrations.RunPython(bring_over, migrations.RunPython.noop),
        migrations.DeleteModel(
            name='OffcutReturned',
        ),
        migrations.DeleteModel(
            name='SheetUsed',
        ),
        migrations.RunSQL(
            "CREATE TRIGGER move_is_never_changed BEFORE UPDATE ON fabjobs_stockmove "
            "BEGIN SELECT RAISE(ABORT, 'a line of the ledger is never changed: add one that corrects it'); END",
            "DROP TRIGGER move_is_never_changed",
        ),
        migrations.RunSQL(
            "CREATE TRIGGER stock_stays_above_0 AFTER INSERT ON fabjobs_stockmove "
            "WHEN (SELECT SUM(on_hand) < 0 OR SUM(reserved) < 0 OR SUM(reserved) > SUM(on_hand) "
            "FROM fabjobs_stockmove WHERE item_id = NEW.item_id) "
            "BEGIN SELECT RAISE(ABORT, 'fewer pieces than none, or more reserved than there are'); END",
            "DROP TRIGGER stock_stays_above_0",
        ),
        migrations.RunSQL(
            "CREATE TRIGGER job_releases_its_own AFTER INSERT ON fabjobs_stockmove "
            "WHEN NEW.fabrication_id IS NOT NULL AND (SELECT SUM(reserved) < 0 FROM fabjobs_stockmove "
            "WHERE item_id = NEW.item_id AND fabrication_id = NEW.fabrication_id) "
            "BEGIN SELECT RAISE(ABORT, 'a job can give back no more than it reserved'); END",
            "DROP TRIGGER job_releases_its_own",
        ),
    ]
