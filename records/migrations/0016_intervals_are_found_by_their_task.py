"""Intervals in force are asked of every due item."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0015_books_go_and_come'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='intervalsetting',
            index=models.Index(fields=['contractor', 'client', 'task'], name='intervals_of_a_task'),
        ),
    ]
